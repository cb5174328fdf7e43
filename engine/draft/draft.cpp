// Making a draft, and choosing notes from it.
#include "engine/draft/draft.h"

#include <algorithm>

#include "engine/draft/bar_one.h"

namespace bentline {

std::optional<Key> Draft::key_at(Seconds time) const {
    return bars ? bentline::key_at(keys(), std::max(1, bars->position_at(time).bar)) : key;
}

Result<Draft> pencil(Draft draft, const std::vector<Note>& notes) {
    std::vector<DraftNote> row;
    row.reserve(notes.size());
    std::uint32_t id = 0;
    for (const Note& n : notes)
        row.push_back({NoteId{++id}, NoteState::pencilled, n, std::nullopt, {}});
    auto list = NoteList::make(std::move(row));
    if (!list) return list.failure();
    draft.notes = std::move(list).value();
    draft.next_id = NoteId{id + 1};
    if (auto near = check_bar_one(draft); !near) return near.failure();
    return draft;
}

std::vector<Note> select_notes(const Draft& draft, WhichNotes which) {
    std::vector<Note> chosen;
    for (const DraftNote& n : draft.notes) {
        if (n.inked() || which == WhichNotes::inked_and_pencilled) chosen.push_back(n.note);
    }
    return chosen;
}

Result<SecondsRange> span_of_bars(const Draft& draft, int first, int last) {
    if (!draft.bars) {
        return Failure{FailureKind::out_of_range,
                       "The draft has no bars yet: place the bars first, or give seconds",
                       {}};
    }
    if (last < first) {
        return Failure{FailureKind::out_of_range,
                       "Bars " + std::to_string(first) + "-" + std::to_string(last) +
                           " run backwards: write the lower number first",
                       {}};
    }
    return SecondsRange{draft.bars->bar_span(first).from, draft.bars->bar_span(last).to};
}

}  // namespace bentline
