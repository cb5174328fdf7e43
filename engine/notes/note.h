// A note of the solo and how it is played.
//
// Written pitches are MIDI keys after the recording's tuning is taken out. All times are recording
// time. A field that was not measured is empty, never guessed. What ends in `_error` is one
// standard error of the figure beside it: about 68 of 100 errors are no larger (tests/corpus counts
// them).
#pragma once

#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "engine/units.h"

namespace bentline {

// Slid into: plucked at `from`, slid along the string to the note's own key. The note's onset is
// the pluck.
struct SlideIn {
    std::optional<MidiKey> from;
    std::optional<SecondsRange> span;
    std::optional<Seconds> span_error{};  // of where it arrives
    friend bool operator==(const SlideIn&, const SlideIn&) = default;
};
// Slid away from at the end, to `to` or to nowhere.
struct SlideOut {
    std::optional<MidiKey> to;
    std::optional<SecondsRange> span;
    std::optional<Seconds> span_error{};  // of where it begins
    friend bool operator==(const SlideOut&, const SlideOut&) = default;
};
// The finger slides on to the next note, which is not struck; that note begins where the slide
// arrives.
struct SlideToNext {
    std::optional<SecondsRange> span;
    std::optional<Seconds> span_error{};  // of where it begins
    friend bool operator==(const SlideToNext&, const SlideToNext&) = default;
};
// The string is pushed: a continuous rise from the note's key by `size`.
struct Bend {
    Cents size{0.0};               // distance of the peak above the struck pitch
    std::optional<Seconds> start;  // where the rise begins (or, pre-bent, the note)
    std::optional<Seconds> peak;   // where it is reached
    bool release = false;          // let down again before the note ends
    bool prebend = false;          // pushed before it was struck: sounds `size` up at its onset
    std::optional<SecondsRange> release_span;
    std::optional<Cents> size_error{};
    friend bool operator==(const Bend&, const Bend&) = default;
};
struct Vibrato {
    Hertz rate{0.0};   // full cycles a second
    Cents depth{0.0};  // peak distance from the centre of the swing
    std::optional<SecondsRange> span;
    std::optional<Hertz> rate_error{};
    std::optional<Cents> depth_error{};
    friend bool operator==(const Vibrato&, const Vibrato&) = default;
};
// Quick alternation with a neighbour above (or below: negative).
struct Trill {
    int semitones = 0;
    friend bool operator==(const Trill&, const Trill&) = default;
};
struct Staccato {
    friend bool operator==(const Staccato&, const Staccato&) = default;
};
struct Accent {
    friend bool operator==(const Accent&, const Accent&) = default;
};

using InflectionKind =
    std::variant<SlideIn, SlideOut, SlideToNext, Bend, Vibrato, Trill, Staccato, Accent>;

struct Inflection {
    InflectionKind what;
    std::optional<double> confidence;  // 0 to 1; empty where a person said so
    std::string reason;                // "rose 98 c in 0.14 s, then held"
    friend bool operator==(const Inflection&, const Inflection&) = default;
};

// Another reading of what is heard where a note was pencilled, for the player to choose.
struct Alternative {
    std::optional<MidiKey> key;           // empty: the soloist plays no note here
    std::vector<Inflection> inflections;  // as it would then be played
    // 0 to 1. Of another pitch, or none: with the note's own confidence never more than 1. Of the
    // same pitch, played otherwise: a part of the note's own confidence.
    double probability = 0.0;
    std::string reason;  // "an octave lower", "not a note of the soloist", "not bent"
    friend bool operator==(const Alternative&, const Alternative&) = default;
};

// No note is shorter: one that is found shorter is none, and an edit that would make one so is
// refused.
inline constexpr Seconds shortest_note{0.010};

struct Note {
    Seconds onset;                  // the pluck, or where a slide or a slur arrives
    Seconds offset;                 // where the sound is damped, not where the room's tail dies
    MidiKey key;                    // the struck, written pitch
    std::optional<Cents> cents;     // median distance from `key` over the plain part
    std::optional<Decibels> level;  // level of its loudest part, dB re full scale
    std::optional<double> confidence;
    std::string reason;  // why it is thought to be a note, in words
    std::vector<Inflection> inflections;
    std::optional<Cents> cents_error{};
    std::vector<Alternative> alternatives{};  // likeliest first, at most three; none: little doubt
    friend bool operator==(const Note&, const Note&) = default;
};

// The first inflection of kind K of a note, or nullptr.
template <class K>
const K* find(const Note& note) {
    for (const Inflection& i : note.inflections) {
        if (const K* k = std::get_if<K>(&i.what)) return k;
    }
    return nullptr;
}

// The name by which files and the command line know a kind: "slide_in", "bend", …
const char* kind_name(const InflectionKind& what);

}  // namespace bentline
