// Differences between drafts, and the list of them.
#include "engine/draft/history.h"

#include <algorithm>
#include <map>

namespace bentline {
namespace {

using Handle = NoteList::Handle;

std::shared_ptr<const Draft> rest_of(Draft draft) {
    draft.notes = NoteList();
    return std::make_shared<const Draft>(std::move(draft));
}

bool same_rest(Draft a, Draft b) {
    a.notes = b.notes = NoteList();
    a.next_id = b.next_id;
    return a == b;
}

std::map<NoteId, Handle> by_id(std::span<const Handle> row) {
    std::map<NoteId, Handle> map;
    for (const Handle& n : row)
        map.emplace(n->id, n);
    return map;
}

// The draft with `from` notes exchanged for `to` notes, change by change.
Result<Draft> exchange(const Draft& draft, const Change& change, Handle Change::OfNote::*from,
                       Handle Change::OfNote::*to, const std::shared_ptr<const Draft>& rest,
                       NoteId next_id) {
    Draft changed = rest ? *rest : draft;
    changed.notes = draft.notes;
    changed.next_id = next_id;
    if (change.notes.empty()) return changed;

    std::map<NoteId, const Change::OfNote*> leaving;
    std::vector<Handle> row;
    for (const Change::OfNote& n : change.notes) {
        if (n.*from) leaving.emplace((n.*from)->id, &n);
        if (n.*to) row.push_back(n.*to);
    }
    row.reserve(draft.notes.size() + row.size());
    for (const Handle& n : draft.notes.handles()) {
        if (leaving.erase(n->id) == 0) row.push_back(n);
    }
    if (!leaving.empty()) {
        return Failure{FailureKind::bad_edit, "The change does not belong to this draft", {}};
    }
    auto list = NoteList::make(std::move(row));
    if (!list) return list.failure();
    changed.notes = std::move(list).value();
    return changed;
}

}  // namespace

Change difference(const Draft& before, const Draft& after, std::string words) {
    Change change;
    change.words = std::move(words);
    change.next_before = before.next_id;
    change.next_after = after.next_id;
    // The rows are alike but for a few notes: skip what they share at both ends.
    auto old_row = before.notes.handles();
    auto new_row = after.notes.handles();
    while (!old_row.empty() && !new_row.empty() && old_row.front() == new_row.front()) {
        old_row = old_row.subspan(1);
        new_row = new_row.subspan(1);
    }
    while (!old_row.empty() && !new_row.empty() && old_row.back() == new_row.back()) {
        old_row = old_row.first(old_row.size() - 1);
        new_row = new_row.first(new_row.size() - 1);
    }
    auto added = by_id(new_row);
    for (const Handle& n : old_row) {
        const auto kept = added.find(n->id);
        if (kept == added.end()) {
            change.notes.push_back({n, nullptr});
            continue;
        }
        if (kept->second != n && *kept->second != *n) change.notes.push_back({n, kept->second});
        added.erase(kept);
    }
    for (auto& [id, n] : added)
        change.notes.push_back({nullptr, std::move(n)});
    if (!same_rest(before, after)) change.rest = {rest_of(before), rest_of(after)};
    return change;
}

Result<Draft> forward(const Draft& draft, const Change& change) {
    return exchange(draft, change, &Change::OfNote::before, &Change::OfNote::after,
                    change.rest.after, change.next_after);
}

Result<Draft> backward(const Draft& draft, const Change& change) {
    return exchange(draft, change, &Change::OfNote::after, &Change::OfNote::before,
                    change.rest.before, change.next_before);
}

Result<Done> History::edit(const Edit& edit, bool goes_on) {
    auto after = apply(now_, edit);
    if (!after) return after.failure();
    if (goes_on && can_undo() && !can_redo() && saved_ != at_) {
        const auto before = backward(now_, steps_.back());
        assert(before.ok());
        Change whole = difference(*before, *after, describe(*before, edit));
        if (whole.empty()) {
            steps_.pop_back();
        } else {
            steps_.back() = std::move(whole);
        }
        at_ = steps_.size();
        now_ = std::move(after).value();
        return Done{};
    }
    Change change = difference(now_, *after, describe(now_, edit));
    if (!change.empty()) add_step(std::move(change), std::move(after).value());
    return Done{};
}

Result<Done> History::replay(const Change& change) {
    auto after = forward(now_, change);
    if (!after) return after.failure();
    add_step(change, std::move(after).value());
    return Done{};
}

void History::add_step(Change change, Draft after) {
    steps_.resize(at_);
    if (saved_ && *saved_ > at_) saved_.reset();
    steps_.push_back(std::move(change));
    if (steps_.size() > longest) {
        steps_.erase(steps_.begin());
        if (saved_) saved_ = *saved_ == 0 ? std::nullopt : std::optional(*saved_ - 1);
    }
    at_ = steps_.size();
    now_ = std::move(after);
}

void History::undo() {
    if (!can_undo()) return;
    auto before = backward(now_, steps_[at_ - 1]);
    assert(before.ok());
    now_ = std::move(before).value();
    --at_;
}

void History::redo() {
    if (!can_redo()) return;
    auto after = forward(now_, steps_[at_]);
    assert(after.ok());
    now_ = std::move(after).value();
    ++at_;
}

}  // namespace bentline
