// Notes by their beats, where 120 of them make a minute and bar 1 begins at 1 s.
#pragma once

#include <vector>

#include "engine/notes/note.h"

namespace bentline::testing {

// From beat to beat (0: the first of bar 1), straight.
inline Note on_beat(double from, double to, int key, std::vector<InflectionKind> how = {}) {
    Note n;
    n.onset = Seconds(1.0 + from / 2.0);
    n.offset = Seconds(1.0 + to / 2.0 - 0.01);
    n.key = MidiKey(key);
    for (InflectionKind& kind : how)
        n.inflections.push_back({kind, 0.9, ""});
    return n;
}

}  // namespace bentline::testing
