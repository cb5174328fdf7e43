// Where the notes of a phrase fall and which pitches they have, before anyone plays them.
#pragma once

#include <vector>

#include "engine/units.h"
#include "tests/corpus/phrase.h"
#include "tests/support/dice.h"

namespace bentline::corpus {

struct Slot {
    Seconds at;
    Seconds length;  // until the next slot, note or rest
    bool rest = false;
    bool sweep = false;  // one of the quick notes of a sweep
    MidiKey key;
};

struct Lines {
    double beats_per_minute;
    Seconds first_beat;
    int tonic;               // pitch class, C = 0
    std::vector<int> scale;  // semitones above the tonic
    std::vector<Slot> slots;
};

Lines write_slots(testing::Dice& dice, const PhraseSettings& settings);

}  // namespace bentline::corpus
