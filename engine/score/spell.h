// Spelling: which name each key of a line has.
//
// Base: ps13 (Meredith 2006, "The ps13 pitch spelling algorithm", Journal of New Music Research
// 35(2)). Every pitch class counts as a tonic as often as it sounds around a note (10 notes before,
// 42 after: the paper's best window); each tonic names the note as its chromatic scale does (1 b2 2
// b3 3 4 #4 5 b6 6 b7 7); most votes win. Where the paper starts from the first note, we start from
// the given key, and key and chord vote too. Then the paper's second stage: chromatic neighbours
// and passing notes are named by the direction of the line (C C# D, D Db C, G F# G). Last, leaps
// are spelled as the intervals that lie close on the line of fifths, thirds and sixths (Temperley
// 2001, "The Cognition of Basic Musical Structures", chapter 5: pitch variance; the rule is ours).
// [any]
#pragma once

#include <optional>
#include <vector>

#include "engine/bars/chord.h"
#include "engine/bars/form.h"
#include "engine/score/score.h"

namespace bentline {

struct SpellingSettings {
    int notes_before = 10;  // Meredith 2006
    int notes_after = 42;
    // Votes, in shares of all votes of the context.
    double key_tonic = 0.5;    // the key's own chromatic scale
    double in_key = 1.0;       // the note belongs to the key
    double chord_tone = 2.6;   // the chord has the note: its third is a third
    double chord_scale = 0.6;  // otherwise the chord's own chromatic scale
    double direction = 2.3;    // chromatic passing and neighbour notes
    double leap = 0.4;         // for thirds and sixths, from each neighbour
    double awkward = 0.5;      // against B#, Cb, E# and Fb where the key does not have them
};

struct SpellingNote {
    MidiKey key;
    const Chord* chord = nullptr;  // that it is heard against, or nullptr
};

// One name for each note. Never more than a double accidental, and those only for chord tones.
std::vector<SpelledPitch> spell(const std::vector<SpellingNote>& line, const Key& key,
                                const SpellingSettings& settings = {});

// The accidental that a key's signature puts before a letter: -1, 0 or 1.
int alter_in_key(char step, const Key& key);

}  // namespace bentline
