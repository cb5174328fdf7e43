#!/usr/bin/env python3
"""Makes the demo recording and its truth: FluidSynth plays each part, sox mixes them and runs the tape slow.

Usage: make_demo.py [--soundfont FILE] [--out FOLDER] [--keep-parts FOLDER]
Needs fluidsynth, sox and the FluidR3 General MIDI soundfont (Debian: fluidsynth, sox, fluid-soundfont-gm).
The same packages give the same bytes.
"""

import argparse
import array
import bisect
import json
import math
import pathlib
import shutil
import struct
import subprocess
import tempfile
import wave

import band
import tune
from lead import LEAD_BEND_RANGE, lead_notes, lead_written

RATE = 44100
TAPE_CENTS = -12.0  # the tape runs slow: everything lower by this, and longer
TAPE = 2.0 ** (TAPE_CENTS / 1200.0)
START_S = 0.4  # silence of the room before the count-in, before the tape's offset
SWING = 2.0  # the rhythm section's eighths, long to short
TICKS = 10000  # MIDI ticks a second: bends and onsets are placed to 0.1 ms

# Mixing levels and places: name -> (gain, MIDI program or None for the brush kit, pan 0-127, reverb 0-127)
PARTS = {
    "guitar": (2.7, 26, 54, 34),
    "piano": (2.9, 0, 104, 44),
    "bass": (1.35, 32, 60, 26),
    "brushes": (3.6, None, 72, 48),
}
BRUSH_KIT = 40
HISS_DB = -66.0


class Clock:
    """Beats from bar 1 to seconds, before the tape's offset. The tempo breathes by a per cent or two."""

    STEP = 1 / 96

    def __init__(self):
        self.first = -tune.BEATS_PER_BAR
        self.at, t = [], START_S
        for i in range((34 * tune.BEATS_PER_BAR + 4) * 96 + 1):
            self.at.append(t)
            t += self.STEP * 60.0 / self.tempo(self.first + i * self.STEP)

    @staticmethod
    def tempo(beat):
        return tune.TEMPO * (1 + 0.010 * math.sin(2 * math.pi * beat / 37 + 0.6)
                             + 0.006 * math.sin(2 * math.pi * beat / 11.3 + 2.0))

    def __call__(self, beat):
        x = (beat - self.first) / self.STEP
        i = max(0, min(int(x), len(self.at) - 2))
        return self.at[i] + (x - i) * (self.at[i + 1] - self.at[i])


def swung(beat, ratio):
    """A straight beat position with its eighths swung: x.5 lands where long : short is the ratio."""
    whole = math.floor(beat)
    part, middle = beat - whole, ratio / (1 + ratio)
    if part <= 0.5:
        return whole + part / 0.5 * middle
    return whole + middle + (part - 0.5) / 0.5 * (1 - middle)


def variable_length(n):
    out = [n & 0x7F]
    while n := n >> 7:
        out.insert(0, 0x80 | (n & 0x7F))
    return bytes(out)


def write_midi(path, events):
    """events: (seconds, order, bytes); at one time, a lower order goes first."""
    body, last = b"\x00\xff\x51\x03" + (1000000).to_bytes(3, "big"), 0
    for t, _, data in sorted(events, key=lambda e: (round(e[0] * TICKS), e[1])):
        tick = round(t * TICKS)
        body += variable_length(tick - last) + data
        last = tick
    body += variable_length(TICKS) + b"\xff\x2f\x00"
    path.write_bytes(b"MThd" + struct.pack(">IHHH", 6, 0, 1, TICKS) + b"MTrk"
                     + struct.pack(">I", len(body)) + body)


def set_up(channel, part):
    _, program, pan, reverb = PARTS[part]
    events = [(0, 0, bytes([0xC0 | channel, BRUSH_KIT if program is None else program]))]
    for controller, value in ((7, 100), (10, pan), (91, reverb), (101, 0), (100, 0),
                              (6, LEAD_BEND_RANGE), (38, 0), (101, 127), (100, 127)):
        events.append((0, 1, bytes([0xB0 | channel, controller, value])))
    return events


def guitar_events(notes):
    """Struck notes by turns on two channels, so that a bend never touches the tail of the note before."""
    events = set_up(0, "guitar") + set_up(1, "guitar")
    for i, voice in enumerate(notes):
        channel, last = i % 2, None
        t = voice["strike"]
        while t < voice["damp"]:
            bend = 8192 + round(voice["cents_at"](t) / (100 * LEAD_BEND_RANGE) * 8192)
            bend = max(0, min(16383, bend))
            if bend != last:
                events.append((t, 2, bytes([0xE0 | channel, bend & 0x7F, bend >> 7])))
                last = bend
            t += 0.002
        events.append((voice["strike"], 3, bytes([0x90 | channel, voice["key"], voice["velocity"]])))
        events.append((voice["damp"], 1, bytes([0x80 | channel, voice["key"], 0])))
    return events


def band_events(part, notes, clock):
    channel = 9 if PARTS[part][1] is None else 2
    events = set_up(channel, part)
    for start, length, key, velocity in notes:
        on, off = clock(swung(start, SWING)), clock(swung(start + length, SWING))
        events.append((on, 3, bytes([0x90 | channel, key, max(1, min(127, round(velocity)))])))
        events.append((off, 1, bytes([0x80 | channel, key, 0])))
    return events


def render(events, folder, name, soundfont, room=True):
    midi, sound = folder / (name + ".mid"), folder / (name + ".wav")
    write_midi(midi, events)
    settings = {"synth.reverb.active": int(room), "synth.chorus.active": 0, "synth.gain": 0.5,
                "synth.reverb.room-size": 0.42, "synth.reverb.damp": 0.35, "synth.reverb.width": 0.7,
                "synth.reverb.level": 0.55, "synth.cpu-cores": 1}
    options = [x for k, v in settings.items() for x in ("-o", f"{k}={v}")]
    subprocess.run(["fluidsynth", "-n", "-i", "-q", *options, "-r", str(RATE), "-T", "wav", "-O", "float",
                    "-F", str(sound), str(soundfont), str(midi)], check=True, stdout=subprocess.DEVNULL)
    return sound


def sox(*arguments):
    subprocess.run(["sox", "-R", "-V1", *map(str, arguments)], check=True)


def mix(parts, folder, length_s, out):
    """Balances the parts, adds the tape's hiss, narrows its band, slows it, and fades the end."""
    weighted = [x for name, path in parts.items() for x in ("-v", PARTS[name][0], path)]
    dry, hiss = folder / "mixed.wav", folder / "hiss.wav"
    sox("-m", *weighted, "-e", "floating-point", "-b", 32, dry)
    sox("-n", "-r", RATE, "-c", 2, "-e", "floating-point", "-b", 32, hiss, "synth", length_s, "pinknoise",
        "vol", HISS_DB, "dB")
    sox("-m", "-v", 1, dry, "-v", 1, hiss, "-b", 16, "-C", 8, out, "highpass", 38, "lowpass", 10500,
        "speed", f"{TAPE:.9f}", "rate", "-v", RATE, "trim", 0, length_s, "fade", "t", 0.05, length_s, 1.2)


def samples(path):
    """Mean of the channels of a WAV file, -1 to 1."""
    as16 = path.with_suffix(".16.wav")
    sox(path, "-b", 16, "-c", 1, as16)
    with wave.open(str(as16)) as w:
        data = array.array("h", w.readframes(w.getnframes()))
    return data


def loudest(data, from_s, to_s, block=0.025):
    """Level of the loudest 25 ms of a stretch, dB re full scale."""
    n, best = int(block * RATE), 1.0
    for start in range(int(from_s * RATE), max(int(from_s * RATE) + 1, int(to_s * RATE) - n), n // 2):
        piece = data[start:start + n]
        best = max(best, sum(x * x for x in piece) / max(1, len(piece)))
    return 10 * math.log10(best) - 20 * math.log10(32768)


def on_tape(value):
    """Every time in the truth passes through the tape's offset."""
    return round(value / TAPE, 4)


def truth_of(notes, lead_sound):
    out, data = [], samples(lead_sound)
    gain_db = 20 * math.log10(PARTS["guitar"][0])
    for note in notes:
        level = loudest(data, note["onset_s"], note["offset_s"]) + gain_db
        row = {"onset_s": on_tape(note["onset_s"]), "offset_s": on_tape(note["offset_s"]),
               "midi": note["midi"], "cents": round(note["cents"], 1), "level_db": round(level, 1),
               "inflections": []}
        for inflection in note["inflections"]:
            row["inflections"].append({k: on_tape(v) if k.endswith("_s") else
                                       round(v * TAPE, 3) if k == "rate_hz" else v
                                       for k, v in inflection.items()})
        out.append(row)
    return {"tuning_cents": TAPE_CENTS, "notes": out}


def beats_of(clock):
    count = 32 * tune.BEATS_PER_BAR
    beats = [on_tape(clock(b)) for b in range(-tune.BEATS_PER_BAR, count + 1)]
    tempo = 60 * count / (clock(count) - clock(0)) * TAPE
    return {"tempo_bpm": round(tempo, 2), "beats_per_bar": tune.BEATS_PER_BAR, "beats": beats,
            "downbeats": beats[tune.BEATS_PER_BAR::tune.BEATS_PER_BAR], "swing_ratio": SWING}


def rows_json(head, key, rows):
    """JSON with one row of the long list on a line, so that changes can be read."""
    inside = ",\n".join("  " + json.dumps(row) for row in rows)
    start = "".join(f"{json.dumps(k)}: {json.dumps(v)},\n  " for k, v in head.items())
    return f'{{ {start}"{key}": [\n{inside}\n] }}\n'


def main():
    here = pathlib.Path(__file__).resolve().parent
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--soundfont", type=pathlib.Path, default="/usr/share/sounds/sf2/FluidR3_GM.sf2")
    options.add_argument("--out", type=pathlib.Path, default=here)
    options.add_argument("--keep-parts", type=pathlib.Path, help="also keep each part as a WAV file here")
    args = options.parse_args()

    clock = Clock()
    voices, notes = lead_notes(clock, swung)
    length_s = clock(32 * tune.BEATS_PER_BAR) / TAPE + 0.6
    with tempfile.TemporaryDirectory() as scratch:
        folder = pathlib.Path(scratch)
        guitar = guitar_events(voices)
        parts = {"guitar": render(guitar, folder, "guitar", args.soundfont),
                 "piano": render(band_events("piano", band.piano(), clock), folder, "piano", args.soundfont),
                 "bass": render(band_events("bass", band.bass(), clock), folder, "bass", args.soundfont),
                 "brushes": render(band_events("brushes", band.brushes(), clock), folder, "brushes",
                                   args.soundfont)}
        dry = render(guitar, folder, "guitar_dry", args.soundfont, room=False)
        target = args.out / tune.FILE
        mix(parts, folder, length_s, target.with_suffix(".flac"))
        truth = truth_of(notes, dry)
        if args.keep_parts:
            args.keep_parts.mkdir(parents=True, exist_ok=True)
            for path in [*parts.values(), dry]:
                shutil.copy(path, args.keep_parts)

    target.with_suffix(".notes.json").write_text(
        rows_json({"tuning_cents": truth["tuning_cents"]}, "notes", truth["notes"]))
    target.with_suffix(".written.json").write_text(rows_json({}, "notes", lead_written()))
    target.with_suffix(".beats.json").write_text(json.dumps(beats_of(clock)) + "\n")
    target.with_suffix(".chords.txt").write_text(tune.chart())
    print(f"{target.with_suffix('.flac').name}: {length_s:.1f} s, {len(truth['notes'])} notes in the lead")


if __name__ == "__main__":
    main()
