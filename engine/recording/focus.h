// Where the soloist is: which register, and where on the stage.
//
// What lies inside the focus is what the tracker follows and, on request, what is heard.
#pragma once

#include "engine/units.h"

namespace bentline {

// Defaults take in the whole guitar and the whole stage.
struct Focus {
    // Sounding pitches of the register, lowest and highest note, both included. Default: E2, the
    // open sixth string in standard tuning, to E6, the 24th fret of the first (common practice, no
    // source). Allowed: 23 (a low B, seven strings and beyond) to 100; lowest < highest.
    Pitch lowest{40.0};
    Pitch highest{88.0};
    // Stage place of the soloist: -1 hard left, 0 centre, 1 hard right.
    double place = 0.0;
    // How much of the stage around it is taken in: 0 just that place, 2 the whole stage.
    double width = 2.0;

    bool whole_stage() const { return width >= 2.0; }
    friend bool operator==(const Focus&, const Focus&) = default;
};

}  // namespace bentline
