"""The guitar's chorus: from the written bars to struck strings, pitch lines, and the truth about them.

A "voice" is one stroke of the plectrum: when, which key, how hard, when damped, and the pitch line in
cents from that key. A "note" is a row of the truth; a slide to the next note gives one voice two notes.
Times are seconds before the tape's offset.
"""

import math
import re
from fractions import Fraction

from tune import BEATS_PER_BAR, CHORUS, LOUDNESS, Random, key_of

LEAD_BEND_RANGE = 12  # semitones of the pitch wheel, each way
SWING = 1.85  # the soloist's eighths are a little straighter than the drums' 2:1
LATE_ON_BEAT_S, LATE_OFF_BEAT_S = 0.020, 0.009  # he leans back, more on the beat than off it
HUMAN_S = 0.008
SWEEP_S = 0.040

# The soundfont's jazz guitar lies flat of equal temperament by these cents (measured on each sample);
# the pitch wheel makes up for it.
SAMPLE_CENTS = ((56, -2.3), (61, -9.5), (65, -2.4), (70, -4.1), (75, -1.5), (128, -2.1))

# Its highest samples are louder by this; the player is even, so they are struck more softly. FluidSynth
# turns velocity into 40 log10(velocity / 127) dB.
LOUD_FROM_KEY, LOUD_DB = 75, 4.8

DURATIONS = {"1": Fraction(4), "2": Fraction(2), "4": Fraction(1), "8": Fraction(1, 2),
             "16": Fraction(1, 4), "t": Fraction(1, 3), "g": Fraction(0)}
SIGN = re.compile(r"<-?\d+|>-?\d+|/|\^\d+[rp]*|v[\d.]+,\d+|tr-?\d+|\.|!")


def parse():
    """[{bar, beat (in its bar), duration, name, signs}], rests left out, ties summed."""
    out = []
    for bar, row in enumerate(CHORUS.strip().splitlines()):
        beat = Fraction(0)
        for token in row.split():
            length, rest = token.split(":")
            duration = DURATIONS[length.rstrip(".")] * (Fraction(3, 2) if length.endswith(".") else 1)
            if rest == "_":
                out[-1]["duration"] += duration
            elif rest != "r":
                name, signs = re.fullmatch(r"([A-G][#b]?\d)(.*)", rest).groups()
                found = SIGN.findall(signs)
                assert "".join(found) == signs, token
                out.append({"bar": bar, "beat": beat, "duration": duration, "name": name, "signs": found,
                            "grace": length == "g", "even": length in ("16", "t")})
            beat += duration
        assert beat == BEATS_PER_BAR, (bar, beat)
    return out


def lead_written():
    """The truth on paper: what a transcriber should write. Bar 0 is the count-in."""
    return [{"bar": n["bar"], "beat": str(n["beat"]), "duration": str(n["duration"]), "name": n["name"],
             "midi": key_of(n["name"]), "grace": n["grace"], "signs": n["signs"]} for n in parse()]


def loudness(position):
    for (a, va), (b, vb) in zip(LOUDNESS, LOUDNESS[1:]):
        if a <= position < b:
            return va + (vb - va) * (position - a) / (b - a)
    return LOUDNESS[-1][1]


def smooth(t, start, end):
    """0 before start, 1 after end, a raised cosine between."""
    if t <= start:
        return 0.0
    if t >= end:
        return 1.0
    return 0.5 - 0.5 * math.cos(math.pi * (t - start) / (end - start))


def frets(t, start, end, steps):
    """A fretted slide: whole semitones one after another, each crossed in 6 ms."""
    count = abs(steps)
    if count == 0:
        return 0.0
    done = sum(smooth(t, x - 0.003, x + 0.003)
               for x in (start + (end - start) * (i + 0.5) / count for i in range(count)))
    return 100.0 * math.copysign(done, steps)


def slide_time(steps):
    return 0.030 + 0.026 * abs(steps)


def onsets(written, clock, swung, random):
    """When each note is played: swung, leaning back, human, sweeps before their note."""
    times = []
    for n in written:
        place = (n["bar"] - 1) * BEATS_PER_BAR + float(n["beat"])
        even = n["even"] or (n["beat"] % 1 != Fraction(1, 2))
        late = LATE_OFF_BEAT_S if n["beat"] % 1 == Fraction(1, 2) else LATE_ON_BEAT_S
        times.append(clock(place if even else swung(place, SWING)) + late + random.around(HUMAN_S))
    for i in range(len(written) - 2, -1, -1):
        if written[i]["grace"]:
            times[i] = times[i + 1] - SWEEP_S + random.around(0.003)
    return times


def lead_notes(clock, swung):
    """(voices, notes) of the whole chorus."""
    random, written = Random(5), parse()
    times = onsets(written, clock, swung, random)
    for i, n in enumerate(written):  # a slide in begins a little before the beat
        for sign in n["signs"]:
            if sign[0] == "<":
                times[i] -= 0.35 * slide_time(int(sign[1:]))
    voices, notes, carried = [], [], None
    for i, n in enumerate(written):
        onset = times[i]
        nominal = clock(swung((n["bar"] - 1) * BEATS_PER_BAR + float(n["beat"] + n["duration"]), SWING)
                        if (n["beat"] + n["duration"]) % 1 == Fraction(1, 2) else
                        (n["bar"] - 1) * BEATS_PER_BAR + float(n["beat"] + n["duration"])) + 0.012
        following = times[i + 1] if i + 1 < len(times) else nominal + 1
        length = nominal - onset
        if "." in n["signs"]:
            offset = onset + max(0.085, 0.42 * length)
        elif n["grace"] or following - nominal < 0.06:
            offset = following - 0.007  # on to the next without a gap
        else:
            offset = onset + 0.93 * length
        offset = min(offset, following - 0.004)
        assert offset > onset + 0.025, n
        key = key_of(n["name"])
        note = {"onset_s": onset, "offset_s": offset, "midi": key, "cents": random.around(3.0),
                "inflections": []}
        velocity = loudness(n["bar"] + float(n["beat"]) / BEATS_PER_BAR) + random.around(3)
        notes.append(note)
        if "/" in n["signs"]:
            note["offset_s"] = following
        line = pitch_line(n, note, key_of(written[i + 1]["name"]) if "/" in n["signs"] else None)
        if carried:  # not struck: the voice of the note before goes on
            start = onset
            previous, voice = carried["cents_at"], carried
            base = 100.0 * (key - voice["key"])
            voice["cents_at"] = lambda t, p=previous, q=line, s=start, b=base, v=voice: (
                p(t) if t < s else b + q(t) + v["fix"])
            voice["damp"] = note["offset_s"]
        else:
            origin = next((int(s[1:]) for s in n["signs"] if s[0] == "<"), 0)
            struck = key - origin
            fix = -next(c for limit, c in SAMPLE_CENTS if struck < limit)
            velocity += 20 if "!" in n["signs"] else 0
            if struck >= LOUD_FROM_KEY:
                velocity *= 10 ** (-LOUD_DB / 40)
            voice = {"strike": onset, "damp": note["offset_s"], "key": struck, "fix": fix,
                     "velocity": max(20, min(127, round(velocity))),
                     "cents_at": lambda t, q=line, b=100.0 * origin, f=fix: b + q(t) + f}
            voices.append(voice)
        carried = voice if "/" in n["signs"] else None
    return voices, notes


def pitch_line(n, note, next_key):
    """The note's pitch in cents from its own key, as a function of time; fills note["inflections"]."""
    onset, offset, intonation = note["onset_s"], note["offset_s"], note["cents"]
    length, add = offset - onset, note["inflections"].append
    pieces = [lambda t: intonation]
    settled = onset
    for sign in n["signs"]:
        if sign[0] == "<":
            steps = int(sign[1:])
            end = onset + slide_time(steps)
            settled = end
            pieces.append(lambda t, k=steps, e=end: frets(t, onset, e, k) - 100.0 * k)
            add({"kind": "slide_in", "from_midi": note["midi"] - steps, "start_s": onset, "end_s": end})
        elif sign[0] == ">":
            steps = int(sign[1:])
            start = offset - slide_time(steps)
            pieces.append(lambda t, k=steps, s=start: frets(t, s, offset, k))
            add({"kind": "slide_out", "to_midi": note["midi"] + steps, "start_s": start, "end_s": offset})
        elif sign == "/":
            steps, start = next_key - note["midi"], offset - slide_time(next_key - note["midi"])
            pieces.append(lambda t, k=steps, s=start: frets(t, s, offset, k))
            add({"kind": "slide_to_next", "start_s": start, "end_s": offset})
        elif sign[0] == "^":
            cents, extra = re.fullmatch(r"\^(\d+)([rp]*)", sign).groups()
            pieces.append(bend(float(cents), "r" in extra, "p" in extra, onset, length, add))
        elif sign[0] == "v":
            pieces.append(vibrato(*map(float, sign[1:].split(",")), settled, offset, length, add))
        elif sign[:2] == "tr":
            interval, half = int(sign[2:]), 1 / 11.5
            # hammered on and pulled off, 11.5 notes a second, from the main note
            pieces.append(lambda t, k=interval: 100.0 * k * sum(
                (1 if j % 2 else -1) * smooth(t, onset + j * half - 0.004, onset + j * half + 0.004)
                for j in range(1, int((length - 0.12) / half) // 2 * 2 + 1)))
            add({"kind": "trill", "semitones": interval})
        elif sign == ".":
            add({"kind": "staccato"})
        elif sign == "!":
            add({"kind": "accent"})
    return lambda t: sum(p(t) for p in pieces)


def bend(cents, release, prebend, onset, length, add):
    start = onset if prebend else onset + 0.12 * length
    peak = onset if prebend else start + min(0.20, 0.28 * length)
    down, low = (onset + 0.55 * length, onset + 0.80 * length) if release else (1e9, 2e9)
    if prebend and release:
        down, low = onset + 0.35 * length, onset + 0.62 * length
    add({"kind": "bend", "cents": cents, "start_s": start, "peak_s": peak, "release": release,
         "prebend": prebend})
    if prebend:
        return lambda t: cents * (1 - smooth(t, down, low))
    return lambda t: cents * (smooth(t, start, peak) - smooth(t, down, low))


def vibrato(rate, depth, settled, offset, length, add):
    start = settled + min(0.22, 0.25 * length)

    def line(t):
        if t < start:
            return 0.0
        growth = min(1.0, (t - start) * rate)  # grows over its first cycle
        return depth * growth * math.sin(2 * math.pi * rate * (t - start))

    add({"kind": "vibrato", "rate_hz": rate, "depth_cents": depth, "start_s": start, "end_s": offset})
    return line
