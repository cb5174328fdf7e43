// What a band plays under a phrase: chords, a walking bass, brushes, and a horn that answers.
#pragma once

#include <string>
#include <vector>

#include "engine/result.h"
#include "engine/units.h"
#include "tests/corpus/phrase.h"
#include "tests/corpus/take.h"
#include "tests/support/dice.h"

namespace bentline::corpus {

struct BandNote {
    Seconds at;
    Seconds length;
    int key;
    int velocity;
};

struct BandPart {
    int program;  // General MIDI, from 0
    bool drums = false;
    double place = 0.0;   // on the stage, -1 to 1
    Decibels level{0.0};  // re the other parts
    std::vector<BandNote> notes;
};

// Fits the phrase's beat, key and length. The horn plays where the soloist rests (by the truth)
// and, now and then, over him.
std::vector<BandPart> write_accompaniment(const Phrase& phrase, const Truth& lead,
                                          testing::Dice& dice);

struct Stereo {
    std::vector<float> left;
    std::vector<float> right;
};

// Plays the parts with a soundfont, dry; each part first brought to the same loudness (RMS over the
// whole length), then set to its level.
Result<Stereo> play_parts(const std::vector<BandPart>& parts, const std::string& font,
                          Seconds length, SampleRate rate);

}  // namespace bentline::corpus
