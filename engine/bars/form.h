// Key and form of a tune: which key, and which letters stand over which bars.
#pragma once

#include <optional>
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
    std::optional<Key> key{};  // where it stands in another key than the tune
    friend bool operator==(const Section&, const Section&) = default;
};
using Form = std::vector<Section>;  // in order, each beginning where the one before ends

// Sections of eight bars of a form written as letters, with other lengths as numbers behind a
// letter: "AABA" is 32 bars, "A12" a twelve-bar chorus, "A16 B8" two lengths. The first begins at
// bar 1. Fails with out_of_range.
Result<Form> parse_form(std::string_view text);
// The same letters keep the keys that they have in `before`.
Form with_keys_of(Form form, const Form& before);

// A tune's key, and its sections with the keys of those that stand in another.
struct Keys {
    std::optional<Key> tune;
    Form form;
    friend bool operator==(const Keys&, const Keys&) = default;
};
// The tune's key, then its sections' where they differ, by their letter or by the bar at which one
// begins: "Eb", "Eb, B in Ab", "C minor, 25 in D minor". Sections that are not named stand in the
// tune's key. Fails with out_of_range where a key is none or the form has no such section.
Result<Keys> parse_keys(std::string_view text, const Form& form);
// What parse_keys reads back: "Eb major, B in Ab major". Empty where nothing is known.
std::string to_text(const Keys& keys);
// The key of a bar.
std::optional<Key> key_at(const Keys& keys, int bar);

// The form played that many times over, 1 to 100.
Form repeated(const Form& form, int choruses);
// The shortest text that parse_form reads back: "AABA", "A12", "A16B8".
std::string to_text(const Form& form);

}  // namespace bentline
