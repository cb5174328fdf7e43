// Chord symbols as players type them: what they mean.
//
// Common practice, no source: lead sheets agree on little, so many ways of writing the same quality
// are read ("m7", "-7", "min7"; "maj7", "M7", "ma7"). What is not understood stays text for its
// owner to show and to report. [any]
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace bentline {

// A spelled pitch class: the root or the bass.
struct PitchName {
    char step = 'C';  // 'A' to 'G'
    int alter = 0;    // semitones: -1 flat, 1 sharp
    int pitch_class() const;
    friend bool operator==(const PitchName&, const PitchName&) = default;
};

// A chord tone by what players call it: degree 3, 4 semitones is a major third; 9 and 13 are
// counted within the octave of the root (semitones 0 to 11).
struct ChordTone {
    int degree = 1;
    int semitones = 0;
    friend bool operator==(const ChordTone&, const ChordTone&) = default;
};

struct Chord {
    PitchName root;
    std::vector<ChordTone> tones;   // root first; empty for N.C.
    std::optional<PitchName> bass;  // after a slash
    // The tone on a pitch class, if it is one.
    std::optional<ChordTone> tone_at(int pitch_class) const;
    friend bool operator==(const Chord&, const Chord&) = default;
};

// "Eb6", "C7b9", "F#m7b5", "Bbmaj7/D", "G7alt", "C6/9", "Bø", "N.C.". Empty where it is not a chord
// symbol that is known.
std::optional<Chord> parse_chord(std::string_view symbol);

}  // namespace bentline
