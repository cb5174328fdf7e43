// The checks and look-ups of a draft's row of notes.
#include "engine/draft/note_list.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace bentline {
namespace {

constexpr double latest_second = 1e6;  // eleven days: beyond any recording

// Rounded to the millisecond; locale-independent.
std::string at_second(Seconds t) {
    const auto ms = std::llround(t.value() * 1000.0);
    const auto whole = std::abs(ms) / 1000;
    const auto rest = std::to_string(1000 + std::abs(ms) % 1000).substr(1);
    return "at " + std::string(ms < 0 ? "-" : "") + std::to_string(whole) + "." + rest + " s";
}

bool usable(Seconds t) {
    return std::isfinite(t.value()) && std::abs(t.value()) <= latest_second;
}
bool usable(const std::optional<Seconds>& t) {
    return !t || usable(*t);
}
bool usable(const std::optional<SecondsRange>& r) {
    return !r || (usable(r->from) && usable(r->to) && r->from <= r->to);
}
bool usable(MidiKey k) {
    return k.value() >= 0 && k.value() <= 127;
}
bool usable(const std::optional<MidiKey>& k) {
    return !k || usable(*k);
}

// Numbers that mean something: two octaves are more than any finger bends, slides or shakes.
struct UsableInflection {
    bool operator()(const SlideIn& s) const { return usable(s.from) && usable(s.span); }
    bool operator()(const SlideOut& s) const { return usable(s.to) && usable(s.span); }
    bool operator()(const SlideToNext& s) const { return usable(s.span); }
    bool operator()(const Bend& b) const {
        return std::abs(b.size.value()) <= 2400.0 && usable(b.start) && usable(b.peak) &&
               usable(b.release_span);
    }
    bool operator()(const Vibrato& v) const {
        return v.rate.value() >= 0.0 && v.rate.value() <= 50.0 && v.depth.value() >= 0.0 &&
               v.depth.value() <= 2400.0 && usable(v.span);
    }
    bool operator()(const Trill& t) const { return std::abs(t.semitones) <= 24; }
    bool operator()(const Staccato&) const { return true; }
    bool operator()(const Accent&) const { return true; }
};

bool finite(const std::optional<double>& x) {
    return !x || std::isfinite(*x);
}

std::optional<Failure> bad_note(const DraftNote& n) {
    const auto refused = [](std::string sentence) {
        return Failure{FailureKind::bad_edit, std::move(sentence), {}};
    };
    const double from = n.note.onset.value();
    const double to = n.note.offset.value();
    if (!usable(n.note.onset) || !usable(n.note.offset)) {
        return refused("A note has no usable time");
    }
    // The slack lets a note of exactly the shortest length through rounding.
    if (to - from < shortest_note.value() - 1e-9) {
        return refused("The note " + at_second(n.note.onset) +
                       " would be shorter than 10 ms: give it more room, or discard it");
    }
    if (!usable(n.note.key)) {
        return refused("The note " + at_second(n.note.onset) +
                       " has a pitch outside MIDI's 0 to 127");
    }
    for (const Inflection& i : n.note.inflections) {
        if (std::visit(UsableInflection{}, i.what) && finite(i.confidence)) continue;
        return refused("The " + std::string(kind_name(i.what)) + " of the note " +
                       at_second(n.note.onset) + " has a value beyond what can be played");
    }
    const bool measured = finite(n.note.confidence) &&
                          (!n.note.cents || std::isfinite(n.note.cents->value())) &&
                          (!n.note.level || std::isfinite(n.note.level->value()));
    if (!measured)
        return refused("The note " + at_second(n.note.onset) + " has a measure that is no number");
    if (n.id.value == 0) return refused("The note " + at_second(n.note.onset) + " has no id");
    return std::nullopt;
}

bool onset_before(const NoteList::Handle& n, Seconds t) {
    return n->note.onset < t;
}

}  // namespace

const char* to_text(NoteState state) {
    return state == NoteState::inked ? "inked" : "pencilled";
}

NoteList::NoteList() {
    static const auto none = std::make_shared<const std::vector<Handle>>();
    row_ = none;
}

Result<NoteList> NoteList::make(std::vector<DraftNote> notes) {
    std::vector<Handle> handles;
    handles.reserve(notes.size());
    for (DraftNote& n : notes)
        handles.push_back(std::make_shared<const DraftNote>(std::move(n)));
    return make(std::move(handles));
}

Result<NoteList> NoteList::make(std::vector<Handle> notes) {
    for (const Handle& n : notes) {
        if (auto bad = bad_note(*n)) return *bad;
    }
    std::stable_sort(notes.begin(), notes.end(), [](const Handle& a, const Handle& b) {
        return a->note.onset < b->note.onset;
    });
    for (std::size_t i = 1; i < notes.size(); ++i) {
        if (notes[i]->note.onset < notes[i - 1]->note.offset) {
            return Failure{FailureKind::bad_edit,
                           "Two notes would sound at once " + at_second(notes[i]->note.onset) +
                               ": a single line has one note at a time",
                           {}};
        }
    }
    std::vector<std::uint32_t> ids;
    ids.reserve(notes.size());
    for (const Handle& n : notes)
        ids.push_back(n->id.value);
    std::sort(ids.begin(), ids.end());
    const auto twice = std::adjacent_find(ids.begin(), ids.end());
    if (twice != ids.end()) {
        return Failure{
            FailureKind::bad_edit, "Two notes carry the id " + std::to_string(*twice), {}};
    }
    NoteList list;
    list.row_ = std::make_shared<const std::vector<Handle>>(std::move(notes));
    return list;
}

std::optional<std::size_t> NoteList::index_of(NoteId id) const {
    const auto at =
        std::find_if(row_->begin(), row_->end(), [id](const Handle& n) { return n->id == id; });
    if (at == row_->end()) return std::nullopt;
    return static_cast<std::size_t>(at - row_->begin());
}

const DraftNote* NoteList::find(NoteId id) const {
    const auto at = index_of(id);
    return at ? (*row_)[*at].get() : nullptr;
}

Range<std::size_t> NoteList::within(SecondsRange range) const {
    const auto from = std::lower_bound(row_->begin(), row_->end(), range.from, onset_before);
    const auto to =
        std::lower_bound(from, row_->end(), std::max(range.from, range.to), onset_before);
    return {static_cast<std::size_t>(from - row_->begin()),
            static_cast<std::size_t>(to - row_->begin())};
}

std::vector<NoteId> NoteList::ids_within(SecondsRange range) const {
    const auto [from, to] = within(range);
    std::vector<NoteId> ids;
    for (std::size_t i = from; i < to; ++i)
        ids.push_back((*row_)[i]->id);
    return ids;
}

bool operator==(const NoteList& a, const NoteList& b) {
    return a.row_ == b.row_ ||
           std::equal(a.row_->begin(), a.row_->end(), b.row_->begin(), b.row_->end(),
                      [](const NoteList::Handle& x, const NoteList::Handle& y) {
                          return x == y || *x == *y;
                      });
}

}  // namespace bentline
