// Measures the pitch of recorded tones independently of the engine: the lag at which a stretch of
// sound repeats best, found in double precision near an expected pitch.
//
// Not a tracker: it must be told the pitch to within 60 cents, and it needs a steady stretch. It
// exists to prove that the corpus sounds as its truth says.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "engine/units.h"

namespace bentline::corpus {

// What is left of x when partials above the fifth are taken away: a stiff string's high partials
// lie sharp (partial n at n f0 sqrt(1 + B n^2); Fletcher & Rossing), and the lag of best repetition
// would follow them; the ear judges by the low ones (Ritsma 1967: the third to the fifth).
// Butterworth, 36 dB an octave from 5.3 f0; lags by about a tenth of a period.
std::vector<float> low_partials(std::span<const float> x, SampleRate rate, Hertz f0);

// The frequency at which x repeats, within `reach` of `expected`, from the normalised
// cross-correlation of x with itself. Lags of several periods (about 20 ms) sharpen it; a parabola
// through the peak places it between samples. Empty where x is shorter than 2.5 periods or repeats
// badly (correlation under 0.7). Accuracy on a steady harmonic tone of 60 ms: 0.1 cent.
std::optional<Hertz> repetition_rate(std::span<const float> x, SampleRate rate, Hertz expected,
                                     Cents reach = Cents(60));

}  // namespace bentline::corpus
