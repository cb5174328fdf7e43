// The pulses of written bars, and seconds to places among them. Inner part of quantise.h.
#pragma once

#include <vector>

#include "engine/score/quantise.h"

namespace bentline {

// The pulses of bars [first, last]: quarters; dotted quarters in compound metres; the lower
// number's note where that is shorter than a quarter (5/8 counts eighths).
std::vector<Pulse> pulses_of_bars(const BarMap& bars, int first, int last);

// Ticks from the first beat of bar 1 to the first of `bar`.
Ticks bar_start(const BarMap& bars, int bar);

// Length of a bar of a metre.
Ticks bar_length(const Metre& metre);

// Where a time lies, in pulses from the first; runs on evenly before and after them.
double pulse_at(const std::vector<Pulse>& pulses, Seconds time);

}  // namespace bentline
