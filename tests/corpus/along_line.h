// Measures how far a sound lies from the pitch that is claimed of it, independently of the engine
// and of repetition.h.
#pragma once

#include <vector>

#include "tests/corpus/lead_voice.h"

namespace bentline::corpus {

// In cents, every 20 ms from 10 ms after the pluck: each of the first five partials is turned back
// by the line's own phase; what is left turning is the error. Partials weigh by what they tell
// about the pitch, number squared times power. Windows: Hann, 50 ms.
std::vector<double> errors_along(const Sounded& sounded, SampleRate rate);

}  // namespace bentline::corpus
