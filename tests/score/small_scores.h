// A few notes on the beat (on_beat.h), written out.
#pragma once

#include <utility>
#include <vector>

#include "engine/score/write_score.h"

namespace bentline::testing {

// 120 beats a minute, bar 1 at 1 s.
inline Draft empty_draft(Metre metre = {4, 4}) {
    Draft draft;
    draft.bars = BarMap::constant(Tempo(120.0), Seconds(1.0), metre).value();
    draft.key = Key{-3, false};
    return draft;
}

inline Score score_of(Draft draft, const std::vector<Note>& notes) {
    draft = pencil(std::move(draft), notes).value();
    return write_score(draft, WhichNotes::inked_and_pencilled).value();
}

}  // namespace bentline::testing
