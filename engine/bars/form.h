// Key and form of a tune: which key, and which letters stand over which bars.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/result.h"

namespace bentline {

// A key as a signature writes it.
struct Key {
    int fifths = 0;      // sharps, or flats if negative: -7 to 7
    bool minor = false;  // else major
    // Pitch class of the tonic, 0 = C.
    int tonic() const;
    friend bool operator==(const Key&, const Key&) = default;
};
// "Eb", "F#m", "C minor", "B♭ major". Fails with out_of_range.
Result<Key> parse_key(std::string_view text);
// "Eb major", "F# minor".
std::string to_text(const Key& key);

// A run of bars under one letter.
struct Section {
    std::string letter;  // "A"
    int first_bar = 1;
    int bars = 8;
    friend bool operator==(const Section&, const Section&) = default;
};
using Form = std::vector<Section>;  // in order, each beginning where the one before ends

// Sections of eight bars of a form written as letters, with other lengths as numbers behind a
// letter: "AABA" is 32 bars, "A12" a twelve-bar chorus, "A16 B8" two lengths. The first begins at
// bar 1. Fails with out_of_range.
Result<Form> parse_form(std::string_view text);
// The form played that many times over, 1 to 100.
Form repeated(const Form& form, int choruses);
// The shortest text that parse_form reads back: "AABA", "A12", "A16B8".
std::string to_text(const Form& form);

}  // namespace bentline
