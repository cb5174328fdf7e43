// Measuring by hand: what the pitch line does in a span that the player drags over.
#pragma once

#include <optional>

#include "engine/pitch/curve.h"
#include "engine/units.h"

namespace bentline::window {

// What was found in a span of the line.
struct Measured {
    SecondsRange span;
    std::optional<Pitch> first, last;    // where the line enters and leaves, tuning taken out
    std::optional<Cents> moved;          // last - first
    std::optional<Cents> spread;         // highest - lowest
    std::optional<Hertz> vibrato_rate;   // of what remains when the straight trend is taken out
    std::optional<Cents> vibrato_depth;  // its peak, as if it were a sine: rms * sqrt(2)
};

// Vibrato is named only where the remainder swings at 3 to 10 Hz for at least one and a half cycles
// and by at least 5 cents; on a sine its rate is within 3 % and its depth within 5 %. The mean of
// the first and the last 20 ms stand for the ends. Pure, quick. [any]
Measured measure_span(const PitchCurve& line, SecondsRange span);

}  // namespace bentline::window
