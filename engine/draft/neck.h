// The guitar's neck: its tuning, capo and frets, and where on it a pitch lies.
#pragma once

#include <string>
#include <vector>

#include "engine/result.h"
#include "engine/units.h"

namespace bentline {

// Where a note is fretted. A fret counts from the capo, as tablature writes it; without a capo,
// from the nut. 0: the open string.
struct Spot {
    int string = 1;  // 1: the thinnest, as players count
    int fret = 0;
    friend bool operator==(const Spot&, const Spot&) = default;
};

// A value. make_neck() checks one; the functions below take only checked ones.
struct Neck {
    // Sounding pitches without the capo, [0] is string 1. Six to eight strings. Default: standard
    // tuning (common practice, no source): E4 B3 G3 D3 A2 E2.
    std::vector<MidiKey> open = {MidiKey(64), MidiKey(59), MidiKey(55),
                                 MidiKey(50), MidiKey(45), MidiKey(40)};
    int capo = 0;    // fret that the capo sits on; 0: none
    int frets = 22;  // of the bare neck, counted from the nut; 12 to 36

    int strings() const { return static_cast<int>(open.size()); }
    // The highest fret that can be written: above the capo.
    int last_fret() const { return frets - capo; }
    friend bool operator==(const Neck&, const Neck&) = default;
};

inline constexpr int fewest_strings = 6;
inline constexpr int most_strings = 8;
inline constexpr int fewest_frets = 12;
inline constexpr int most_frets = 36;

// Tunings by the names that players use (common practice, no source).
Neck standard_neck();
Neck drop_d_neck();
Neck seven_string_neck();  // standard and a low B
Neck eight_string_neck();  // and a low F sharp

// A neck as the user gives it. Failure out_of_range: not six to eight strings, an open string
// outside the MIDI keys 12 to 96, frets or capo out of range. Strings need not fall evenly, nor
// fall at all.
Result<Neck> make_neck(std::vector<MidiKey> open, int capo = 0, int frets = 22);

// A tuning from its note names, lowest string first, as players write it: "D A D G B E" or "D2 A2
// D3 G3 B3 E4". Without octaves, the lowest string is the one nearest to E2 (seven strings: B1,
// eight: F#1) and each next the next above. Failure out_of_range.
Result<Neck> parse_tuning(const std::string& names, int capo = 0, int frets = 22);

// Its open strings as note names, lowest first, then what is unusual: "E2 A2 D3 G3 B3 E4",
// "D2 A2 D3 G3 B3 E4, capo 2, 24 frets".
std::string to_text(const Neck& neck);

// The sounding pitch of a spot.
MidiKey key_at(const Neck& neck, Spot spot);
// Every spot of a pitch, string 1 first; empty where the neck does not have it.
std::vector<Spot> spots_of(const Neck& neck, MidiKey key);
// The lowest and highest pitch of the neck, capo on.
Range<int> key_range(const Neck& neck);  // half-open, MIDI numbers

// How far fret `n` lies from the nut of a string `scale` long, in the unit of `scale`: the
// twelfth-root rule, scale * (1 - 2^(-n/12)). n >= 0.
double fret_distance(double scale, int n);

}  // namespace bentline
