"""The rhythm section: walking bass, comping piano, brushes, from the chord changes.

Everything is (start in beats from bar 1, length in beats, key, velocity); make_demo.py turns beats into
time. Off-beats are written straight (x.5) and swung there.
"""

import re

from tune import BEATS_PER_BAR, Random, bars_of_chords

QUALITIES = {  # chord tones above the root, for the bass; a rootless voicing, for the piano
    "6": ((0, 4, 7, 9), (4, 7, 9, 14)),
    "maj7": ((0, 4, 7, 11), (4, 7, 11, 14)),
    "m7": ((0, 3, 7, 10), (3, 7, 10, 14)),
    "7": ((0, 4, 7, 10), (4, 10, 14, 21)),
    "9": ((0, 4, 7, 10), (4, 10, 14, 19)),
    "7b9": ((0, 4, 7, 10), (4, 10, 13, 19)),
}
ROOTS = {"C": 0, "Db": 1, "D": 2, "Eb": 3, "E": 4, "F": 5, "Gb": 6, "G": 7, "Ab": 8, "A": 9, "Bb": 10,
         "B": 11}


def chord(symbol):
    root, quality = re.fullmatch(r"([A-G]b?)(.*)", symbol).groups()
    return ROOTS[root], QUALITIES[quality]


def chord_slots():
    """[(start beat, beats, root, (tones, voicing)), ...]"""
    slots = []
    for b, chords in enumerate(bars_of_chords()):
        for i, symbol in enumerate(chords):
            beats = BEATS_PER_BAR // len(chords)
            slots.append((b * BEATS_PER_BAR + i * beats, beats, *chord(symbol)))
    return slots


def nearest(pitch_class, key, low, high):
    options = [k for k in range(low, high + 1) if k % 12 == pitch_class]
    return min(options, key=lambda k: (abs(k - key), k))


def bass():
    random, notes, last = Random(11), [], 39
    slots = chord_slots()
    for i, (start, beats, root, (tones, _)) in enumerate(slots):
        next_root = slots[(i + 1) % len(slots)][2]
        line = [nearest(root, last, 29, 46)]
        while len(line) < beats - 1:
            tone = random.pick(tones[1:])
            key = nearest((root + tone) % 12, line[-1] + random.pick((-4, 4, 5)), 28, 48)
            if key != line[-1]:
                line.append(key)
        # the last beat leans on the next root from a semitone away
        target = nearest(next_root, line[-1], 29, 46)
        line.append(target + (1 if target < line[-1] or target < 30 else -1))
        for beat, key in enumerate(line):
            notes.append((start + beat + random.around(0.012), 0.9, key, 84 + random.around(8)))
        last = line[-1]
    # the chorus ends on a held root
    del notes[-3:]
    notes[-1] = (31 * BEATS_PER_BAR, 3.2, nearest(3, last, 27, 40), 84)
    return notes


COMPING = (  # (beat in the bar, length): places where the piano may speak
    ((0, 0.9), (1.5, 0.3)),
    ((0.5, 0.3), (2.5, 0.8)),
    ((1.5, 0.35), (3, 0.3)),
    ((0, 0.3), (2.5, 1.2)),
    ((1, 0.25), (3.5, 0.4)),
    ((1.5, 1.6),),
)


def piano():
    random, notes, last, slots = Random(23), [], 64, chord_slots()
    for bar in range(31):
        for beat, length in random.pick(COMPING):
            at = bar * BEATS_PER_BAR + beat
            sounding = at + 0.5 if beat % 1 else at  # an off-beat belongs to the chord it leads to
            slot = [s for s in slots if s[0] <= sounding][-1]
            keys = [nearest((slot[2] + v) % 12, last, 53, 74) for v in slot[3][1]]
            keys = sorted(set(keys))
            last = 0.7 * last + 0.3 * 63
            late = random.around(0.02)
            for n, key in enumerate(keys):
                notes.append((at + late + 0.004 * n, length, key, 58 + random.around(9)))
    for key in (55, 60, 65, 67):  # the last chord, held
        notes.append((31 * BEATS_PER_BAR + 0.01, 3.0, key, 60))
    return notes


TAP, SLAP, SWIRL, PEDAL, STICK, KICK, RIDE = 38, 39, 40, 44, 37, 36, 51


def brushes():
    random, notes = Random(37), []

    def hit(at, key, velocity, length=0.3):
        notes.append((at + random.around(0.01), length, key, velocity + random.around(5)))

    for beat in range(BEATS_PER_BAR):  # count-in
        hit(beat - BEATS_PER_BAR, STICK, 74)
    for bar in range(31):
        start, bridge = bar * BEATS_PER_BAR, 16 <= bar < 24
        for beat in range(BEATS_PER_BAR):
            at = start + beat
            hit(at, SWIRL, 58 if beat % 2 == 0 else 48, 0.9)
            hit(at, TAP, 50 if beat % 2 == 0 else 66)
            if beat % 2:
                hit(at + 0.5, TAP, 44)
                hit(at, PEDAL, 60)
            if bridge:
                hit(at, RIDE, 50)
                if beat % 2:
                    hit(at + 0.5, RIDE, 42)
            hit(at, KICK, 30)
        if bar % 8 == 7:  # a small fill into the next section
            for beat in (2.5, 3, 3.5):
                hit(start + beat, SLAP, 62 + 6 * beat)
    hit(31 * BEATS_PER_BAR, SWIRL, 60, 3)
    hit(31 * BEATS_PER_BAR, KICK, 44)
    return notes
