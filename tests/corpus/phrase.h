// A made-up solo line: what is played, stroke by stroke, and the notes that a listener should
// write.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "engine/notes/note.h"
#include "engine/units.h"
#include "tests/corpus/contour.h"

namespace bentline::corpus {

// A hammered or pulled note's small push in level, dying away.
struct Nudge {
    Seconds at;  // since the pluck
    Decibels by;
};

// One pluck and how the string rings on.
struct Stroke {
    Seconds pluck;      // time in the phrase
    Seconds damped;     // time in the phrase at which the hand begins to stop it
    Seconds release;    // how long the stopping takes, to -60 dB
    MidiKey key;        // sampled key that sounds it (the contour starts here or near it)
    int velocity = 76;  // timbre; loudness is `level`
    Decibels level;     // RMS of its loudest 20 ms, re full scale
    Contour contour;
    std::vector<Nudge> nudges;
    std::vector<std::pair<SecondsRange, Decibels>> fades;  // since the pluck; level lost by its end
};

// A scratch of the pick or of a finger on the string: a burst of band-passed noise.
struct Scratch {
    Seconds at;
    Seconds length;
    Decibels level;  // RMS re full scale
    Hertz centre;
};

// A stretch over which the level swells or sinks, evenly in dB.
struct Swell {
    SecondsRange span;
    Decibels from;
    Decibels to;
};

// The string beside a bent one, fretted where the bend arrives and struck with it: a unison bend.
// The bent string is the line; this one only sounds along.
struct Beside {
    std::size_t stroke = 0;  // of the bent string; struck and damped with it
    MidiKey key;
    Seconds late;    // after the bent string's pluck
    Decibels under;  // how far under the bent string
};

struct PhraseNote {
    Note truth;  // offset: as the hand wants it; the rendering shortens what dies away before
    std::size_t stroke = 0;
    SecondsRange plain;  // time in the phrase over which its pitch neither bends nor slides
};

struct Phrase {
    double beats_per_minute = 120.0;
    Seconds first_beat;
    int tonic = 0;           // pitch class, C = 0
    std::vector<int> scale;  // seven semitones above the tonic, rising
    Seconds length;
    std::vector<Stroke> strokes;
    std::vector<PhraseNote> notes;
    std::vector<Scratch> scratches;
    std::vector<Swell> swells;
    std::vector<Beside> beside;
};

struct PhraseSettings {
    Seconds length{8.0};  // about
    MidiKey lowest{45};   // of the register from which a phrase takes its own two octaves
    MidiKey highest{84};
    double inflected = 0.42;    // share of notes that get an inflection where they have room
    bool noises = true;         // pick and finger noise in some phrases
    bool unison_bends = false;  // held bends of whole semitones sound against the string beside
};

// The same phrase from the same seed and settings, on every machine.
Phrase write_phrase(std::uint64_t seed, const PhraseSettings& settings = {});

}  // namespace bentline::corpus
