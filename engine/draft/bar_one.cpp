// Bar 1 against the span of the music.
#include "engine/draft/bar_one.h"

#include <algorithm>

namespace bentline {

SecondsRange span_of_music(const Draft& draft) {
    SecondsRange span{Seconds(0.0), Seconds(0.0)};
    if (draft.chorus) span.to = std::max(span.to, draft.chorus->to);
    if (draft.notes.empty()) return span;
    span.from = std::min(span.from, draft.notes[0].note.onset);
    span.to = std::max(span.to, draft.notes[draft.notes.size() - 1].note.offset);
    return span;
}

Result<Done> check_bar_one(const BarMap& bars, SecondsRange music) {
    const Seconds bar_one = bars.time_of(Beats(0.0));
    if (bar_one > music.from - farthest_bar_one && bar_one < music.to + farthest_bar_one)
        return Done{};
    return Failure{FailureKind::out_of_range,
                   "Bar 1 would be at " + place_name(bar_one, {}) +
                       ", more than an hour away from the music (" + place_name(music.from, {}) +
                       " to " + place_name(music.to, {}) +
                       "): put it near the music, in seconds of the recording",
                   {}};
}

Result<Done> check_bar_one(const Draft& draft) {
    if (!draft.bars || draft.notes.empty()) return Done{};
    return check_bar_one(*draft.bars, span_of_music(draft));
}

}  // namespace bentline
