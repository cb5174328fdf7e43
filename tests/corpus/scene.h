// Puts a lead on a stage: alone in a room, or in its band.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "engine/result.h"
#include "tests/corpus/accompaniment.h"
#include "tests/corpus/phrase.h"
#include "tests/corpus/take.h"
#include "tests/support/dice.h"

namespace bentline::corpus {

enum class Scene {
    clean,  // the lead alone, dry, mono
    room,   // the lead alone, in stereo, with room, hiss, band limits, and tape in some takes
    band,   // the same with a band around it
};

// lead_over_band: RMS of the lead over the rows where it sounds, re RMS of everything else from the
// first note to the last, both dry, both channels together. band_font: soundfont of the others;
// write: what they play.
using BandWriter =
    std::function<std::vector<BandPart>(const Phrase&, const Truth&, testing::Dice&)>;
Result<Take> stage(Scene scene, Decibels lead_over_band, const Phrase& phrase, LeadTrack lead,
                   const std::string& band_font, SampleRate rate, testing::Dice& dice,
                   const BandWriter& write = write_accompaniment);

}  // namespace bentline::corpus
