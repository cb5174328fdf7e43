// How well followed beats hit the true ones.
#pragma once

#include <vector>

#include "engine/units.h"

namespace bentline::testing {

// Share of beats found and right, F-measure within 70 ms, the first five seconds left out (the beat
// metric of MIREX as mir_eval computes it).
double beat_f_measure(std::vector<Seconds> truth, std::vector<Seconds> found);

}  // namespace bentline::testing
