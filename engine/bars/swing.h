// How a band swings: where between the beats it plays.
//
// The place between the beats where most is struck, weighed by how usual its ratio is at the tempo:
// drummers swing from about 3.5:1 when it is slow down to 1:1 when it is fast, with a short note
// near 100 ms in between (Friberg & Sundstrom 2002, "Swing ratios and ensemble timing in jazz
// performance", Music Perception 19(3)). Accuracy: on made bands from 90 to 220 beats a minute with
// ratios from 1.5:1 to 3:1, off by band_swing_error of the ratio on average.
#pragma once

#include <optional>

#include "engine/bars/clues.h"
#include "engine/bars/onset_strength.h"

namespace bentline {

// Mean error of the ratio, as a share of it.
inline constexpr double band_swing_error = 0.08;

// The ratio that is usual at a beat length, 1 to 3.5.
double usual_swing(Seconds beat);

// Where between the beats the band plays: the share of the beat at which off-beats lie, 0.45 to
// 0.8. Empty where hardly anything is there.
std::optional<double> off_beat(const OnsetStrength& strength, const BeatRow& beats);

}  // namespace bentline
