// Names of notes and chord tones for the window's rows and labels.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/bars/form.h"
#include "engine/units.h"

namespace bentline::window {

// 0 for C to 11 for B, in every octave.
int pitch_class(int key);

// The name of a key as a signature spells it ("F♯", "E♭"), without an octave: in the scale as
// written, outside it by the nearest of the twelve places on the line of fifths. Without a
// signature: flats.
std::string spelled(MidiKey key, const std::optional<Key>& signature);
// With the octave as a small figure behind it, middle C = "C4".
std::string spelled_with_octave(MidiKey key, const std::optional<Key>& signature);
// A text with ♭ and ♯ for b and # behind a letter A to G: "Ebmaj7" -> "E♭maj7".
std::string with_signs(std::string_view chord);
// A sentence in which the names of notes, keys and chords have their signs: "Ab4 -> F#m7b5" -> "A♭4
// → F♯m7♭5". Other words stay as they are.
std::string sentence_with_signs(std::string_view sentence);

// The tones of a chord symbol as degrees above its root.
struct ChordTone {
    int semitones = 0;        // above the root, 0 to 11
    const char* degree = "";  // "R", "♭3", "5"
};
struct ChordTones {
    int root = 0;  // pitch class, 0 = C
    std::vector<ChordTone> tones;
    // The degree of a key in this chord, or nullptr.
    const char* degree_of(MidiKey key) const;
};
// Reads the first chord of a symbol: root, then minor, major seventh, seventh, sixth, diminished,
// half-diminished, augmented, suspended (common practice, no source). Empty for what is no chord.
std::optional<ChordTones> chord_tones(std::string_view symbol);

// "¼", "½", "¾", "1", "1¼" … of a bend, to the nearest quarter tone; at least "¼".
std::string bend_fraction(Cents size);

}  // namespace bentline::window
