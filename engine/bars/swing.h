// How a band swings: where between the beats it plays.
#pragma once

#include <optional>

#include "engine/bars/clues.h"
#include "engine/bars/onset_strength.h"

namespace bentline {

// Where between the beats the band plays: the share of the beat at which off-beats lie, 0.45 to
// 0.8. Empty where hardly anything is there.
std::optional<double> off_beat(const OnsetStrength& strength, const BeatRow& beats);

}  // namespace bentline
