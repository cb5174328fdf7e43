// Concert pitch: how far a whole recording lies from A4 = 440 Hz (ISO 16).
#pragma once

#include <optional>

#include "engine/pitch/curve.h"

namespace bentline {

// Stated accuracy for a line of at least ten steady notes that are in tune with each other,
// asserted by tests/pitch.
inline constexpr Cents tuning_accuracy{1.5};

// The offset from A4 = 440 Hz, -50 to 50 cents (positive: sharp), that puts the steady parts of the
// line on written pitches; bends, slides and vibrato are left out. Notes count once each, by the
// square root of their length. Empty where the line has no steady part of 40 ms. The mean is
// circular (Fisher 1993, section 2.3: modulo a semitone), then refined by the median of the
// deviations, so that one note out of tune moves it little. [any]
std::optional<Cents> estimate_tuning(const PitchCurve& curve);

}  // namespace bentline
