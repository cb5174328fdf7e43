// How far from its music a draft's bar 1 may lie. [any]
#pragma once

#include "engine/draft/draft.h"

namespace bentline {

// A recording may begin in the middle of a tune, so bar 1 may lie before or after what is played;
// but every bar from there to the notes is written, and a longer way is a slip of the unit.
inline constexpr Seconds farthest_bar_one{3600.0};

// From the beginning of the recording (so that no note that goes takes bar 1 out of it), or of a
// note before that, to the end of the last note or of the part that the draft is about
// (Draft::chorus).
SecondsRange span_of_music(const Draft& draft);

// Fails with out_of_range where bar 1 lies farther than that from `music`.
Result<Done> check_bar_one(const BarMap& bars, SecondsRange music);
// The same of a draft; one without bars or notes passes.
Result<Done> check_bar_one(const Draft& draft);

}  // namespace bentline
