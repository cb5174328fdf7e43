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

bool sounds_in(const Note& note, SecondsRange span) {
    return note.onset < span.to && span.from < note.offset;
}

}  // namespace

Hints hints_of(const Draft& draft, SecondsRange span) {
    Hints hints;
    for (const DraftNote& n : draft.notes) {
        if (n.inked() && sounds_in(n.note, span)) hints.inked.push_back(n.note);
    }
    for (const NoteHere& mark : draft.here) {
        if (span.contains(mark.at)) hints.here.push_back(mark);
    }
    for (const NotThis& n : draft.not_these) {
        const bool taken = std::any_of(hints.inked.begin(), hints.inked.end(), [&](const Note& i) {
            return i.key == n.key && sounds_in(i, n.span);
        });
        if (!taken && n.span.from < span.to && span.from < n.span.to) hints.not_these.push_back(n);
    }
    if (draft.bars) hints.beats = beats_in(*draft.bars, span);
    if (!draft.notes.empty()) hints.tuning = draft.tuning;
    return hints;
}

Draft with_ruled_out(Draft draft, const Note& note) {
    const NotThis none{{note.onset, note.offset}, note.key};
    auto& said = draft.not_these;
    if (std::find(said.begin(), said.end(), none) == said.end()) said.push_back(none);
    return draft;
}

Draft with_allowed(Draft draft, SecondsRange span, MidiKey key) {
    std::erase_if(draft.not_these, [&](const NotThis& n) {
        return n.key == key && n.span.from < span.to && span.from < n.span.to;
    });
    return draft;
}

Draft with_mark_turned(Draft draft, const NoteHere& mark) {
    auto& marks = draft.here;
    const auto gone = std::erase_if(marks, [&](const NoteHere& m) {
        return std::abs((m.at - mark.at).value()) <= here_tolerance.value();
    });
    if (gone > 0) return draft;
    const auto after =
        std::upper_bound(marks.begin(), marks.end(), mark,
                         [](const NoteHere& a, const NoteHere& b) { return a.at < b.at; });
    marks.insert(after, mark);
    return draft;
}

}  // namespace bentline
