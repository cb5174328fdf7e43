// Small drafts whose written form can be told by hand: 120 quarters a minute, bar 1 at 1 s, inked.
#pragma once

#include <vector>

#include "engine/draft/edit.h"
#include "engine/score/write_score.h"
#include "engine/tab/finger_draft.h"
#include "tests/export/chorus.h"
#include "tests/score/on_beat.h"

namespace bentline::testing {

inline Draft in_four_four() {
    Draft draft;
    draft.bars = BarMap::constant(Tempo(120.0), Seconds(1.0)).value();
    draft.key = Key{0, false};
    return draft;
}

inline Draft inked(Draft heading, const std::vector<Note>& notes) {
    return all_inked(pencil(std::move(heading), notes).value());
}

}  // namespace bentline::testing
