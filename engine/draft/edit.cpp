// Applies edits to a draft: one function an edit, then the rules that hold for all of them.
#include "engine/draft/edit.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <set>

#include "engine/draft/bar_one.h"
#include "engine/draft/draft_hints.h"
#include "engine/draft/note_surgery.h"

namespace bentline {
namespace {

using Handle = NoteList::Handle;
using Row = std::vector<Handle>;

constexpr int last_chord_bar = 9999;

Failure refused(std::string sentence) {
    return {FailureKind::bad_edit, std::move(sentence), {}};
}

Handle with_note(const DraftNote& old, Note note) {
    DraftNote changed = old;
    changed.note = std::move(note);
    return std::make_shared<const DraftNote>(std::move(changed));
}

Row row_of(const Draft& draft) {
    return {draft.notes.handles().begin(), draft.notes.handles().end()};
}

// A later note damps an earlier one: cuts each note of a sorted row at the next one's onset.
void damp(Row& row) {
    for (std::size_t i = 0; i + 1 < row.size(); ++i) {
        const Note& n = row[i]->note;
        const Seconds next = row[i + 1]->note.onset;
        if (n.offset > next) row[i] = with_note(*row[i], fitted(n, {n.onset, next}));
    }
}

Result<Draft> with_row(const Draft& draft, Row row) {
    damp(row);
    auto list = NoteList::make(std::move(row));
    if (!list) return list.failure();
    Draft changed = draft;
    changed.notes = std::move(list).value();
    return changed;
}

// Passes every named note through `change`, which returns a changed handle or nullptr to take it
// away. Fails where a name is unknown.
Result<Row> change_each(const Draft& draft, const std::vector<NoteId>& ids,
                        const std::function<Handle(const Handle&)>& change) {
    std::set<NoteId> wanted(ids.begin(), ids.end());
    Row row;
    row.reserve(draft.notes.size());
    for (const Handle& n : draft.notes.handles()) {
        if (wanted.erase(n->id) == 0) {
            row.push_back(n);
        } else if (Handle changed = change(n)) {
            row.push_back(std::move(changed));
        }
    }
    if (!wanted.empty()) return refused("That note is no longer in the draft: choose it again");
    return row;
}

Result<Draft> with_each(const Draft& draft, const std::vector<NoteId>& ids,
                        const std::function<Handle(const Handle&)>& change) {
    auto row = change_each(draft, ids, change);
    if (!row) return row.failure();
    return with_row(draft, std::move(row).value());
}

Result<Draft> with_state(const Draft& draft, const std::vector<NoteId>& ids, NoteState state) {
    return with_each(draft, ids, [state](const Handle& n) {
        if (n->state == state) return n;
        DraftNote changed = *n;
        changed.state = state;
        return std::make_shared<const DraftNote>(std::move(changed));
    });
}

// Moved notes keep their order among the others. Fails where one would jump over a neighbour.
std::optional<Failure> out_of_order(const Draft& draft, const Row& row) {
    for (std::size_t i = 1; i < row.size(); ++i) {
        if (row[i]->note.onset >= row[i - 1]->note.onset + shortest_note) continue;
        return refused(
            "The note at " + place_name(draft.notes[i].note.onset, draft.bars) +
            " cannot pass its neighbour or come closer than 10 ms: move or discard that one first");
    }
    return std::nullopt;
}

Result<Draft> on(const Draft& draft, const Ink& e) {
    return with_state(draft, e.ids, NoteState::inked);
}
Result<Draft> on(const Draft& draft, const Pencil& e) {
    return with_state(draft, e.ids, NoteState::pencilled);
}
Result<Draft> on(const Draft& draft, const Discard& e) {
    auto changed = with_each(draft, e.ids, [](const Handle&) { return Handle(); });
    for (const NoteId id : e.ids) {
        const DraftNote* gone = draft.notes.find(id);
        if (changed && gone && !gone->inked())
            changed = with_ruled_out(std::move(changed).value(), gone->note);
    }
    return changed;
}

Result<Draft> on(const Draft& draft, const Move& e) {
    if (!std::isfinite(e.by.value()))
        return refused("Notes cannot be moved by something that is not a time");
    auto row = change_each(draft, e.ids,
                           [&](const Handle& n) { return with_note(*n, shifted(n->note, e.by)); });
    if (!row) return row.failure();
    if (auto bad = out_of_order(draft, *row)) return *bad;
    return with_row(draft, std::move(row).value());
}

Result<Draft> on(const Draft& draft, const Resize& e) {
    if (!(e.span.to - e.span.from >= shortest_note)) {
        return refused("A note lasts at least 10 ms: drag its end further out, or discard it");
    }
    auto row = change_each(draft, {e.id},
                           [&](const Handle& n) { return with_note(*n, fitted(n->note, e.span)); });
    if (!row) return row.failure();
    if (auto bad = out_of_order(draft, *row)) return *bad;
    return with_row(draft, std::move(row).value());
}

Result<Draft> on(const Draft& draft, const Retune& e) {
    if (std::abs(e.semitones) > 127) return refused("A note moves by at most 127 semitones");
    return with_each(draft, e.ids,
                     [&](const Handle& n) { return with_note(*n, retuned(n->note, e.semitones)); });
}

Result<Draft> on(const Draft& draft, const Split& e) {
    const auto at = draft.notes.index_of(e.id);
    if (!at) return refused("That note is no longer in the draft: choose it again");
    const DraftNote& whole = draft.notes[*at];
    if (e.at < whole.note.onset + shortest_note || e.at > whole.note.offset - shortest_note) {
        return refused("The cut at " + place_name(e.at, draft.bars) +
                       " does not leave 10 ms on both sides: cut further inside the note");
    }
    auto [first, second] = parted(whole.note, e.at);
    Row row = row_of(draft);
    row[*at] = with_note(whole, std::move(first));
    DraftNote late = whole;
    late.id = draft.next_id;
    late.note = std::move(second);
    row.insert(row.begin() + static_cast<std::ptrdiff_t>(*at) + 1,
               std::make_shared<const DraftNote>(std::move(late)));
    auto changed = with_row(draft, std::move(row));
    if (changed) changed->next_id.value += 1;
    return changed;
}

Result<Draft> on(const Draft& draft, const Join& e) {
    const auto first = draft.notes.index_of(e.first);
    const auto second = draft.notes.index_of(e.second);
    if (!first || !second) return refused("That note is no longer in the draft: choose it again");
    if (*second != *first + 1)
        return refused("Only neighbours can be joined: choose a note and the next one");
    Row row = row_of(draft);
    DraftNote one = *row[*first];
    if (row[*second]->inked()) one.state = NoteState::inked;
    one.note = joined(row[*first]->note, row[*second]->note);
    row[*first] = std::make_shared<const DraftNote>(std::move(one));
    row.erase(row.begin() + static_cast<std::ptrdiff_t>(*second));
    return with_row(draft, std::move(row));
}

Result<Draft> on(const Draft& draft, const AddNote& e) {
    Row row = row_of(draft);
    const auto after =
        std::lower_bound(row.begin(), row.end(), e.note.onset,
                         [](const Handle& n, Seconds t) { return n->note.onset < t; });
    for (auto near : {after == row.begin() ? row.end() : after - 1, after}) {
        if (near == row.end()) continue;
        const Seconds gap = (*near)->note.onset - e.note.onset;
        if (gap < shortest_note && -gap < shortest_note) {
            return refused("There is a note at " + place_name((*near)->note.onset, draft.bars) +
                           " already: retune or resize that one");
        }
    }
    row.insert(after, std::make_shared<const DraftNote>(
                          DraftNote{draft.next_id, e.state, e.note, {}, {}}));
    auto changed = with_row(draft, std::move(row));
    if (changed) changed->next_id.value += 1;
    return changed;
}

Result<Draft> on(const Draft& draft, const SetInflection& e) {
    return with_each(draft, {e.id}, [&](const Handle& n) {
        Note note = n->note;
        const auto same = std::find_if(
            note.inflections.begin(), note.inflections.end(),
            [&](const Inflection& i) { return i.what.index() == e.inflection.what.index(); });
        if (same == note.inflections.end()) {
            note.inflections.push_back(e.inflection);
        } else {
            *same = e.inflection;
        }
        return with_note(*n, std::move(note));
    });
}

Result<Draft> on(const Draft& draft, const RemoveInflection& e) {
    return with_each(draft, {e.id}, [&](const Handle& n) {
        Note note = n->note;
        std::erase_if(note.inflections,
                      [&](const Inflection& i) { return i.what.index() == e.like.index(); });
        return with_note(*n, std::move(note));
    });
}

Result<Draft> on(const Draft& draft, const TakeAlternative& e) {
    const DraftNote* found = draft.notes.find(e.id);
    if (found && e.which >= found->note.alternatives.size()) {
        return refused("The note has no alternative " + std::to_string(e.which + 1) +
                       ": choose another, or retune it by hand");
    }
    auto changed = with_each(draft, {e.id}, [&](const Handle& n) -> Handle {
        if (!n->note.alternatives[e.which].key) return nullptr;
        return with_note(*n, with_alternative(n->note, e.which));
    });
    if (!changed) return changed;
    const Note& old = found->note;
    const std::optional<MidiKey> key = old.alternatives[e.which].key;
    if (key == old.key) return changed;
    Draft said = with_ruled_out(std::move(changed).value(), old);
    return key ? with_allowed(std::move(said), {old.onset, old.offset}, *key) : said;
}

Result<Draft> on(const Draft& draft, const SetPin& e) {
    if (e.pin && (e.pin->string < 1 || e.pin->string > 12 ||
                  (e.pin->fret && (*e.pin->fret < 0 || *e.pin->fret > 36)))) {
        return refused("There is no such string or fret: strings count from 1, frets from 0");
    }
    return with_each(draft, e.ids, [&](const Handle& n) {
        DraftNote changed = *n;
        changed.pin = e.pin;
        return std::make_shared<const DraftNote>(std::move(changed));
    });
}

Result<Draft> on(const Draft& draft, const Repencil& e) {
    Row inked;
    Row row;
    for (const Handle& n : draft.notes.handles()) {
        if (n->inked()) inked.push_back(n);
        if (n->inked() || !e.range.contains(n->note.onset)) row.push_back(n);
    }
    std::uint32_t id = draft.next_id.value;
    Hints said;
    said.not_these = draft.not_these;
    for (const Note& n : e.notes) {
        if (!e.range.contains(n.onset)) continue;
        if (ruled_out(said, {n.onset, n.offset}, n.key)) continue;
        // The inked notes around it: the last that begins no later, and the first that begins
        // after.
        const auto after =
            std::upper_bound(inked.begin(), inked.end(), n.onset,
                             [](Seconds t, const Handle& i) { return t < i->note.onset; });
        if (after != inked.begin() && (*(after - 1))->note.offset > n.onset) continue;
        Note note = n;
        if (after != inked.end() && (*after)->note.onset < note.offset) {
            note = fitted(note, {note.onset, (*after)->note.onset});
        }
        if (note.offset - note.onset < shortest_note) continue;
        row.push_back(std::make_shared<const DraftNote>(
            DraftNote{NoteId{id++}, NoteState::pencilled, std::move(note), {}, {}}));
    }
    std::stable_sort(row.begin(), row.end(), [](const Handle& a, const Handle& b) {
        return a->note.onset < b->note.onset;
    });
    auto changed = with_row(draft, std::move(row));
    if (changed) changed->next_id.value = id;
    return changed;
}

Result<Draft> on(const Draft& draft, const MarkHere& e) {
    if (!std::isfinite(e.at.value())) return refused("A mark lies at a time of the recording");
    return with_mark_turned(draft, NoteHere{e.at, e.key});
}
Result<Draft> on(Draft draft, const SetBars& e) {
    draft.bars = e.bars;
    return draft;
}
Result<Draft> on(Draft draft, const SetMetre& e) {
    if (!draft.bars)
        return refused("The draft has no bars yet: place the bars first, then choose their metre");
    auto bars = draft.bars->with_metre(e.metre);
    if (!bars) return Failure{FailureKind::bad_edit, bars.failure().sentence, {}};
    draft.bars = std::move(bars).value();
    return draft;
}
Result<Draft> on(Draft draft, const SetKey& e) {
    if (e.key && std::abs(e.key->fifths) > 7)
        return refused("A key has at most seven sharps or flats");
    draft.key = e.key;
    return draft;
}
Result<Draft> on(Draft draft, const SetForm& e) {
    for (const Section& s : e.form) {
        if (s.key && std::abs(s.key->fifths) > 7)
            return refused("A key has at most seven sharps or flats");
    }
    for (std::size_t i = 0; i < e.form.size(); ++i) {
        const int expected =
            i == 0 ? e.form[0].first_bar : e.form[i - 1].first_bar + e.form[i - 1].bars;
        if (e.form[i].bars < 1 || e.form[i].first_bar != expected) {
            return refused("The form's sections do not follow each other at bar " +
                           std::to_string(e.form[i].first_bar));
        }
    }
    draft.form = e.form;
    return draft;
}
Result<Draft> on(Draft draft, const SetKeys& e) {
    auto with_form = on(std::move(draft), SetForm{e.keys.form});
    return with_form ? on(std::move(with_form).value(), SetKey{e.keys.tune}) : with_form;
}
Result<Draft> on(Draft draft, const SetChord& e) {
    if (e.bar < 1 || e.bar > last_chord_bar) return refused("Chords stand over bars 1 to 9999");
    const auto bar = static_cast<std::size_t>(e.bar);
    if (draft.chords.size() < bar) draft.chords.resize(bar);
    draft.chords[bar - 1] = e.text;
    while (!draft.chords.empty() && draft.chords.back().empty())
        draft.chords.pop_back();
    return draft;
}
Result<Draft> on(Draft draft, const SetChords& e) {
    if (e.chords.size() > last_chord_bar) return refused("Chords stand over bars 1 to 9999");
    draft.chords = e.chords;
    return draft;
}
Result<Draft> on(Draft draft, const SetFocus& e) {
    const Focus& f = e.focus;
    if (!(f.lowest < f.highest) || !(f.lowest >= Pitch(23.0)) || !(f.highest <= Pitch(100.0))) {
        return refused("The register must run upwards, from no lower than B0 to no higher than E7");
    }
    if (!(std::abs(f.place) <= 1.0) || !(f.width >= 0.0 && f.width <= 2.0)) {
        return refused("The place on the stage lies from -1 to 1 and its width from 0 to 2");
    }
    draft.focus = f;
    return draft;
}
Result<Draft> on(Draft draft, const SetTuning& e) {
    if (!(std::abs(e.tuning.value()) <= 1200.0))
        return refused("The tuning lies within 1200 cents of A4 = 440 Hz");
    draft.tuning = e.tuning;
    return draft;
}
Result<Draft> on(Draft draft, const SetChorus& e) {
    if (e.chorus && !(std::isfinite(e.chorus->from.value()) &&
                      std::isfinite(e.chorus->to.value()) && e.chorus->from < e.chorus->to)) {
        return refused("The chorus must begin before it ends");
    }
    draft.chorus = e.chorus;
    return draft;
}
Result<Draft> on(Draft draft, const SetNeck& e) {
    auto checked = make_neck(e.neck.open, e.neck.capo, e.neck.frets);
    if (!checked) return refused(checked.failure().sentence);
    draft.neck = e.neck;
    return draft;
}
Result<Draft> on(Draft draft, const SetHeading& e) {
    draft.title = e.title;
    draft.players = e.players;
    return draft;
}
Result<Draft> on(Draft draft, const SetRecording& e) {
    draft.recording = e.recording;
    return draft;
}

}  // namespace

Result<Draft> apply(const Draft& draft, const Edit& edit) {
    auto after = std::visit([&](const auto& e) { return on(draft, e); }, edit.what);
    if (!after) return after;
    if (auto near = check_bar_one(*after); !near) return refused(near.failure().sentence);
    return after;
}

}  // namespace bentline
