// The exact pitch along a path that is known to a few tens of cents.
//
// A stiff string's upper partials lie sharp of whole multiples, by many cents on wound strings, and
// the ear goes by the lower ones. So the period is measured where about the first five partials are
// left.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "engine/pitch/front_end.h"
#include "engine/units.h"

namespace bentline {

struct ExactPoint {
    Hertz f0;
    double aperiodicity = 1.0;  // of the sound below the sixth partial, at this period
};

// path[i]: the pitch near which to look at frame margin + i * hop * rate of the mix; empty where
// there is none. The result is empty there too, and where no period lies within 45 cents. The mix
// reaches at least 45 ms and four periods beyond the first and last point. [worker]
std::vector<std::optional<ExactPoint>> exact_pitches(const WorkingSignal& sound, std::size_t margin,
                                                     Seconds hop,
                                                     std::span<const std::optional<Hertz>> path);

}  // namespace bentline
