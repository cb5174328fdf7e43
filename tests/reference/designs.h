// Published designs of time-stretching, each by itself and as plainly as it was published, to be
// measured beside the engine on the same table. Offline, one channel at a time; not used by the
// program.
#pragma once

#include <string>

#include "tests/reference/materials.h"

namespace bentline::reference {

enum class Design {
    locked,          // identity phase locking: Laroche & Dolson 1999, section III.B
    resolutions,     // the same in three bands, frames of 186, 46 and 23 ms (multi-resolution)
    split,           // harmonic/percussive split: Fitzgerald 2010; Driedger, Mueller & Ewert 2014
    phase_gradient,  // phase-gradient heap integration: Prusa & Holighaus 2017
};
inline constexpr Design designs[] = {Design::locked, Design::resolutions, Design::split,
                                     Design::phase_gradient};
std::string name(Design d);

// The whole sound at `speed`, round(frames / speed) frames long.
Signal slow(Design d, const Signal& in, double speed);

}  // namespace bentline::reference
