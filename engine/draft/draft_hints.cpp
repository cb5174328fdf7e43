// Inked notes, beats and tuning of a draft.
#include "engine/draft/draft_hints.h"

#include <algorithm>
#include <cmath>

namespace bentline {

namespace {

constexpr int most_beats = 20000;  // more than three hours at 100 a minute

std::vector<Seconds> beats_in(const BarMap& bars, SecondsRange span) {
    const double first = std::floor(bars.beats_at(span.from).value());
    const double last = std::ceil(bars.beats_at(span.to).value());
    std::vector<Seconds> beats;
    for (double b = first; b <= last && beats.size() < most_beats; b += 1.0)
        beats.push_back(bars.time_of(Beats(b)));
    return beats;
}

}  // namespace

Hints hints_of(const Draft& draft, SecondsRange span) {
    Hints hints;
    for (const DraftNote& n : draft.notes) {
        if (n.inked() && n.note.onset < span.to && span.from < n.note.offset)
            hints.inked.push_back(n.note);
    }
    if (draft.bars) hints.beats = beats_in(*draft.bars, span);
    if (!draft.notes.empty()) hints.tuning = draft.tuning;
    return hints;
}

}  // namespace bentline
