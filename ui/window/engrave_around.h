// Some bars of a draft engraved so that every head stands under its time on the bench.
#pragma once

#include "engine/bars/bar_map.h"
#include "engine/export/engraving/fonts.h"
#include "engine/score/score.h"
#include "engine/tab/finger_draft.h"
#include "ui/window/state.h"

namespace bentline::window {

// The measures of `score` that lie within `around`. spaces_a_second: how wide a second is, staff
// spaces. [any]
ManuscriptLine engrave_around(Score score, const DraftFingering& fingering, const BarMap& bars,
                              const engraving::Fonts& fonts, SecondsRange around,
                              double spaces_a_second);

}  // namespace bentline::window
