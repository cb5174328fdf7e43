"""The tune and its solo chorus as data: chord changes, the head, and what the guitar plays.

"Last Tram to Oddervik", 32 bars AABA in E flat, medium-up swing. Tune, changes, chorus, band and
players are invented for this demo.
"""

TITLE = "Last Tram to Oddervik"
FILE = "last_tram_to_oddervik"
TEMPO = 140.0  # beats a minute, before the tape's offset; it breathes around this
BEATS_PER_BAR = 4

# One line of the chart is four bars. Two chords in a bar get two beats each.
SECTIONS = [
    ("A", ["| Eb6 | Gb6 | Fm7 | Bb7 |", "| Eb6 | Ab7 | Gm7 C7 | Fm7 Bb7 |"]),
    ("A", ["| Eb6 | Gb6 | Fm7 | Bb7 |", "| Eb6 | Ab7 | Fm7 Bb7 | Eb6 |"]),
    ("B", ["| Gm7 | Ebm7 Ab7 | Dbmaj7 | Em7 A7 |", "| Dmaj7 | Dm7 G7 | Cm7 F9 | Fm7 Bb7 |"]),
    ("A", ["| Eb6 | Gb6 | Fm7 | Bb7 |", "| Eb6 | Ab7 | Fm7 Bb7b9 | Eb6 |"]),
]

# The head, not played in the recording (the tape joins the band after it), for who wants to sing it.
HEAD_A = """
2:Bb4 8:G4 8:Ab4 4:C5 | 4.:Db5 8:Bb4 2:Gb4 | 8:Ab4 8:C5 4:F4 8:r 8:F4 8:G4 8:Ab4 | 2.:D5 4:r |
4.:Eb5 8:C5 4:Bb4 4:G4 | 8:Gb4 8:Ab4 4:C5 2:Eb4 | 8:D5 4:Bb4 8:F4 4:E4 4:G4 | 8:Ab4 4:C5 8:D4 4:F4 4:r
"""
HEAD_B = """
4:D5 8:D5 8:F5 4:Bb4 4:G4 | 8:Gb5 4:Eb5 8:Bb4 4:C5 4:Ab4 | 2.:F4 8:Ab4 8:C5 | 4:B4 8:G4 8:E4 2:C#5 |
2.:A4 8:F#4 8:A4 | 4:C5 8:A4 8:F4 2:B4 | 4.:G4 8:Bb4 4:A4 4:Eb5 | 8:Ab4 8:C5 8:Eb5 8:F5 2:D5
"""

# What the guitar plays, a bar a row, from the pickup bar (bar 0, the count-in) on. A note is
#   duration:name+signs
# durations: 1 2 4 8 16 as written, a dot for dotted, t an eighth-note triplet, g a sweep note (about
# 40 ms, taken from the time before the note that follows); "r" rests, "_" ties the note before on.
# signs: <n slid into from n frets below (negative: above), >n slid out of, n frets up (negative: down)
#   / slid on to the next note, ^c bent by c cents, followed by r (released) and p (pre-bent: the name
#   is the fretted pitch), vR,D vibrato of R Hz and D cents, trN trill with the note N semitones up,
#   . staccato, ! accent.
CHORUS = """
2.:r 8:F4 8:G4
4:Bb4<2 8:G4 4:Bb4 8:C5 8:Bb4 8:G4
4.:Db5v5.6,26 8:Bb4 8:Ab4 8:Gb4 8:Eb4 8:r
8:r 8:C5 8:Ab4 8:F4 4:Eb5. 4:C5.
8:C5/ 8:D5 8:F5 4.:G5^100 4:r
8:r 8:Bb5! 8:G5 8:Eb5 4:F5 8:D5 8:Eb5
4:Gb5^50 8:Eb5 8:C5 4:Gb5^50 8:Eb5 8:C5
8:D5 8:Bb4 8:G4 8:F4 t:E4 t:G4 t:Bb4 8:Db5 8:C5
8:Ab4 8:F4 8:C4 8:Eb4 4:D4>-3 4:r
8:r 8:Bb4 8:Bb4 8:Bb4 4:Bb4! 8:G4 8:Bb4
8:Bb4 8:Bb4 8:Db5 8:Bb4 4.:Eb5v6.1,32 8:r
8:F4 8:G4 8:Ab4 8:Bb4 8:C5 8:D5 8:Eb5 8:F5
4:Ab5! 8:F5 8:D5 8:Cb5 8:Bb4 4:r
4.:Bb5^200rp 8:G5 4:Eb5. 4:r
8:r 8:Gb5 8:F5 8:Eb5 t:D5 t:Eb5 t:F5 8:Eb5 8:C5
8:Ab4 8:C5 8:Eb5 8:G5 8:F5 8:D5 8:Bb4 8:Ab4
2:G4v5.1,40 4:r 8:D4 8:F#4/
8:G4 8:Bb4 8:D5 8:F5 16:A5 16:G5 16:F5 16:D5 8:Bb4 8:G4
8:Gb4 8:Bb4 8:Db5 8:F5 t:Eb5 t:Db5 t:C5 4:Bb4
g:F4 g:Ab4 g:C5 g:F5 2:Ab5v6.4,18 8:r 8:F5 8:Eb5 8:C5
8:B4 8:D5 8:G5 8:E5 16:C#5 16:E5 16:G5 16:Bb5 8:A5 8:G5
2:F#5tr1 8:E5 8:D5 8:A4 8:r
8:D5 8:F5 8:A5 8:C6 t:B5 t:A5 t:G5 8:F5 8:D5
16:Eb5 16:D5 16:C5 16:Bb4 8:G4 8:Bb4 8:A4 8:C5 8:Eb5 8:G5
8:Ab5! 8:Ab5. 8:Ab5. 8:F5 4:D5<-1 4:Bb4>4
4:r 2:F5^200r 4:Eb5
8:r 8:Db5 8:Eb5 8:Gb5 4.:Bb5v5.8,30 8:Ab5
8:_ 8:F5 8:C5 8:Ab4 4:G4 4:r
8:r 8:F4 8:Ab4 8:C5 4:D5<5 8:F5 8:Eb5!
4:_ 8:r 8:Bb4 4:C5<3 8:Bb4 8:G4
4.:Gb4^50 8:Eb4 4:C4 4:r
8:F4 8:Ab4 8:C5 8:Eb5 t:D5 t:Cb5 t:Ab4 8:F4 8:D4
2.:Eb4<1v4.7,45 4:r
"""

# How hard the strings are struck (MIDI velocity), at bar.beat; straight lines between. The line of
# bar 11 grows from soft to loud.
LOUDNESS = [(0.0, 80), (5.0, 90), (8.0, 76), (9.0, 74), (10.75, 84), (11.0, 46), (12.0, 112),
            (12.5, 100), (13.0, 94), (16.0, 74), (17.0, 84), (20.0, 100), (24.0, 108), (25.0, 92),
            (29.0, 82), (32.9, 66)]


class Random:
    """A small generator of our own, so that the demo comes out the same everywhere and for ever."""

    def __init__(self, seed):
        self.state = seed

    def unit(self):  # [0, 1)
        self.state = (self.state * 6364136223846793005 + 1442695040888963407) % 2**64
        return (self.state >> 33) / 2**31

    def around(self, size):  # -size to size, nearer to 0 more often
        return (self.unit() + self.unit() - 1) * size

    def pick(self, things):
        return things[int(self.unit() * len(things))]


def key_of(name):
    """MIDI key of a note name: C4 is 60."""
    letter, rest = name[0], name[1:]
    number = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}[letter]
    number += rest.count("#") - rest.count("b")
    return 12 * (int(rest.lstrip("#b")) + 1) + number


def bars_of_chords():
    """[[chord, ...], ...]: the chords of each of the 32 bars."""
    bars = []
    for _, lines in SECTIONS:
        for line in lines:
            bars += [bar.split() for bar in line.strip("| ").split("|")]
    return bars


def chart():
    """The chord chart as players type it."""
    out = []
    for letter, lines in SECTIONS:
        out.append(letter)
        out += lines
        out.append("")
    return "\n".join(out)
