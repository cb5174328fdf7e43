// Bands that the development takes do not have: organ, pads and electric pianos under the lead,
// picked, slapped and synthetic basses, a straight backbeat, brushes or hand drums, other voices
// that answer.
#pragma once

#include "tests/corpus/accompaniment.h"

namespace bentline::corpus {

// As write_accompaniment, in its keys and beats, with other instruments and habits.
std::vector<BandPart> write_other_band(const Phrase& phrase, const Truth& lead,
                                       testing::Dice& dice);

}  // namespace bentline::corpus
