// Small drafts whose written form can be told by hand: 120 quarters a minute, bar 1 at 1 s, inked.
#pragma once

#include <vector>

#include "engine/draft/edit.h"
#include "engine/score/write_score.h"
#include "engine/tab/finger_draft.h"
#include "tests/export/chorus.h"

namespace bentline::testing {

inline Draft in_four_four() {
    Draft draft;
    draft.bars = BarMap::constant(Tempo(120.0), Seconds(1.0)).value();
    draft.key = Key{0, false};
    return draft;
}

// From beat to beat (0: the first of bar 1).
inline Note on_beat(double from, double to, int key, std::vector<InflectionKind> how = {}) {
    Note n;
    n.onset = Seconds(1.0 + from / 2.0);
    n.offset = Seconds(1.0 + to / 2.0 - 0.01);
    n.key = MidiKey(key);
    for (InflectionKind& kind : how)
        n.inflections.push_back({kind, 0.9, ""});
    return n;
}

inline Draft inked(Draft heading, const std::vector<Note>& notes) {
    return all_inked(pencil(std::move(heading), notes).value());
}

}  // namespace bentline::testing
