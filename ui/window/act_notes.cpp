// Actions on notes and their inflections.
#include <algorithm>
#include <cmath>

#include "ui/window/desk_inside.h"
#include "ui/window/page.h"
#include "ui/window/spelling.h"

namespace bentline::window {

namespace {

constexpr const char* by_hand = "set by hand";

// Sizes that an inflection starts with where the line cannot tell (common practice, no source).
constexpr Cents first_bend{50.0};
constexpr Hertz first_vibrato_rate{5.5};
constexpr Cents first_vibrato_depth{30.0};
constexpr int first_slide = -2;
constexpr int first_trill = 2;
// Length of a note that is added at the play line without bars.
constexpr Seconds first_length{0.2};

std::optional<InflectionKind> kind_called(const std::string& name) {
    for (const InflectionKind& kind :
         {InflectionKind(SlideIn{}), InflectionKind(SlideOut{}), InflectionKind(SlideToNext{}),
          InflectionKind(Bend{}), InflectionKind(Vibrato{}), InflectionKind(Trill{}),
          InflectionKind(Staccato{}), InflectionKind(Accent{})}) {
        if (name == kind_name(kind)) return kind;
    }
    return std::nullopt;
}

bool has_kind(const Note& note, const InflectionKind& like) {
    return std::any_of(note.inflections.begin(), note.inflections.end(),
                       [&](const Inflection& i) { return i.what.index() == like.index(); });
}

}  // namespace

const DraftNote* Desk::Inside::note_or_say() {
    const DraftNote* note = state.picked();
    if (note == nullptr) refuse("No note is picked: press one, or go to it with the arrow keys");
    return note;
}

void Desk::Inside::pick(std::optional<NoteId> id) {
    state.pick = id;
    readings_tried = 0;
    state.measured.reset();
    const DraftNote* note = state.picked();
    if (note == nullptr) return;
    keep_in_view({note->note.onset, note->note.offset});
    rows_for(note->note.key.value(), top_of(note->note));
    if (!state.play.playing) seek(note->note.onset);
}

void Desk::Inside::on(const intents::Pick& i) {
    const NoteId id{static_cast<std::uint32_t>(std::max<std::int64_t>(0, i.note))};
    if (state.draft.notes.find(id) == nullptr)
        return refuse("There is no note " + std::to_string(i.note));
    pick(id);
}

void Desk::Inside::on(const intents::PickNone&) {
    pick(std::nullopt);
}

void Desk::Inside::on(const intents::PickStep& i) {
    const NoteList& notes = state.draft.notes;
    if (notes.empty()) return refuse("There are no notes yet");
    const auto count = static_cast<std::int64_t>(notes.size());
    std::int64_t target = 0;
    if (const auto now = state.pick ? notes.index_of(*state.pick) : std::nullopt) {
        target = static_cast<std::int64_t>(*now) + i.steps;
    } else {
        // From the play line: the next one, or the one before.
        const auto before = notes.within({Seconds(-1e6), state.play.at - Seconds(1e-6)});
        target = static_cast<std::int64_t>(before.to) + (i.steps > 0 ? i.steps - 1 : i.steps);
    }
    pick(notes[static_cast<std::size_t>(std::clamp<std::int64_t>(target, 0, count - 1))].id);
}

void Desk::Inside::on(const intents::Ink&) {
    if (const DraftNote* note = note_or_say()) edit(bentline::Ink{{note->id}});
}

void Desk::Inside::on(const intents::InkOn&) {
    const NoteList& notes = state.draft.notes;
    if (state.pick) {
        if (!edit(bentline::Ink{{*state.pick}})) return;
    }
    const auto now = state.pick ? notes.index_of(*state.pick) : std::nullopt;
    std::size_t from =
        now ? *now + 1 : notes.within({Seconds(-1e6), state.play.at - Seconds(1e-6)}).to;
    while (from < notes.size() && notes[from].inked())
        ++from;
    if (from < notes.size()) return pick(notes[from].id);
    const bool all =
        std::all_of(notes.begin(), notes.end(), [](const DraftNote& n) { return n.inked(); });
    say(all ? "Every note of the draft is inked"
            : "From here on every note is inked; pencilled ones are left before");
    if (!state.pick && !notes.empty()) pick(notes[notes.size() - 1].id);
}

void Desk::Inside::on(const intents::PencilAgain&) {
    if (const DraftNote* note = note_or_say()) edit(bentline::Pencil{{note->id}});
}

void Desk::Inside::on(const intents::Discard&) {
    const DraftNote* note = note_or_say();
    if (note == nullptr) return;
    const std::size_t index = state.draft.notes.index_of(note->id).value_or(0);
    if (!edit(bentline::Discard{{note->id}})) return;
    const NoteList& notes = state.draft.notes;
    pick(notes.empty() ? std::nullopt : std::optional(notes[std::min(index, notes.size() - 1)].id));
}

void Desk::Inside::on(const intents::InkBars& i) {
    const Result<SecondsRange> span = span_of_bars(state.draft, i.first, i.last);
    if (!span) return fail(span.failure());
    edit(bentline::Ink{state.draft.notes.ids_within(*span)});
}

void Desk::Inside::on(const intents::SetThreshold& i) {
    state.threshold = std::clamp(i.confidence, 0.0, 1.0);
}

void Desk::Inside::on(const intents::InkConfident&) {
    std::vector<NoteId> ids;
    for (const DraftNote& n : state.draft.notes) {
        if (!n.inked() && n.note.confidence.value_or(0.0) >= state.threshold) ids.push_back(n.id);
    }
    if (ids.empty()) return refuse("No pencilled note is so sure: choose a lower threshold");
    const std::size_t count = ids.size();
    if (edit(bentline::Ink{std::move(ids)}))
        say(std::to_string(count) + " notes are inked; undo takes them all back");
}

void Desk::Inside::on(const intents::MoveNote& i) {
    const DraftNote* note = note_or_say();
    if (note == nullptr) return;
    const Seconds end = i.edge == Edge::end ? note->note.offset : note->note.onset;
    if (!in_recording(end + i.by)) return;
    if (i.edge == Edge::both) {
        edit(bentline::Move{{note->id}, i.by});
    } else {
        SecondsRange span{note->note.onset, note->note.offset};
        (i.edge == Edge::start ? span.from : span.to) += i.by;
        edit(bentline::Resize{note->id, span});
    }
    if (const DraftNote* moved = state.picked())
        keep_in_view({moved->note.onset, moved->note.offset});
}

void Desk::Inside::on(const intents::PlaceNote& i) {
    const DraftNote* note = note_or_say();
    if (note != nullptr && in_recording(i.from) && in_recording(i.to))
        edit(bentline::Resize{note->id, {i.from, i.to}});
}

void Desk::Inside::on(const intents::StepPitch& i) {
    const DraftNote* note = note_or_say();
    if (note == nullptr || !edit(bentline::Retune{{note->id}, i.semitones})) return;
    if (const DraftNote* moved = state.picked()) {
        rows_for(moved->note.key.value(), moved->note.key.value());
    }
}

void Desk::Inside::on(const intents::Split& i) {
    if (const DraftNote* note = note_or_say()) edit(bentline::Split{note->id, i.at});
}

void Desk::Inside::on(const intents::SplitHere&) {
    const DraftNote* note = note_or_say();
    if (note == nullptr) return;
    const SecondsRange inside{note->note.onset + shortest_note, note->note.offset - shortest_note};
    const Seconds middle = note->note.onset + (note->note.offset - note->note.onset) * 0.5;
    on(intents::Split{inside.contains(state.play.at) ? state.play.at : middle});
}

void Desk::Inside::on(const intents::JoinNext&) {
    const DraftNote* note = note_or_say();
    if (note == nullptr) return;
    const std::size_t index = state.draft.notes.index_of(note->id).value_or(0);
    if (index + 1 >= state.draft.notes.size())
        return refuse("There is no note after this one to join it with");
    edit(bentline::Join{note->id, state.draft.notes[index + 1].id});
}

void Desk::Inside::on(const intents::AddNote& i) {
    if (i.key < 0 || i.key > 127) return refuse("A note's key lies between 0 and 127");
    if (!in_recording(i.from) || !in_recording(i.to)) return;
    Note note;
    note.onset = i.from;
    note.offset = i.to;
    note.key = MidiKey(i.key);
    note.reason = by_hand;
    const NoteId id = state.draft.next_id;
    if (edit(bentline::AddNote{std::move(note), NoteState::inked})) pick(id);
}

void Desk::Inside::on(const intents::AddHere&) {
    const Seconds at = state.play.at;
    const Seconds length =
        state.draft.bars
            ? beat_length(state.draft.bars->tempo_at(state.draft.bars->beats_at(at))) * 0.5
            : first_length;
    // The key of the line just after here, else of the note before, else the middle of the rows.
    int key = (state.rows.from + state.rows.to) / 2;
    const auto before = state.draft.notes.within({Seconds(-1e6), at});
    if (before.to > 0) key = state.draft.notes[before.to - 1].note.key.value();
    if (state.heard.line) {
        const Measured m = measure_span(*state.heard.line, {at, at + length});
        if (m.first) key = nearest_key(*m.first).value();
    }
    on(intents::AddNote{at, at + length, std::clamp(key, 0, 127)});
}

void Desk::Inside::on(const intents::MarkHere&) {
    const Seconds at = state.play.at;
    const std::size_t before = state.draft.here.size();
    if (!edit(bentline::MarkHere{at, std::nullopt})) return;
    say(state.draft.here.size() > before
            ? "Marked at " + place_text(state, at) +
                  ": a note begins here. Pencil the loop again to have it found"
            : "The mark is taken away");
}

void Desk::Inside::on(const intents::NextReading&) {
    const DraftNote* note = note_or_say();
    if (note == nullptr) return;
    // Round all of them: what is chosen leaves its place to what was there before. That it is no
    // note is said by discarding it.
    const std::vector<Alternative>& others = note->note.alternatives;
    for (std::size_t tried = 0; tried < others.size(); ++tried) {
        const std::size_t which = readings_tried++ % others.size();
        if (others[which].key) return on(intents::TakeReading{static_cast<int>(which)});
    }
    refuse("There is no other reading of this note: the arrows change its pitch");
}

void Desk::Inside::on(const intents::TakeReading& i) {
    const DraftNote* note = note_or_say();
    if (note == nullptr) return;
    if (i.which < 0) return refuse("Readings count from 0");
    const NoteId id = note->id;
    const std::size_t index = state.draft.notes.index_of(id).value_or(0);
    if (!edit(TakeAlternative{id, static_cast<std::size_t>(i.which)})) return;
    const NoteList& notes = state.draft.notes;
    if (const DraftNote* now = notes.find(id))
        return rows_for(now->note.key.value(), now->note.key.value());
    pick(notes.empty() ? std::nullopt : std::optional(notes[std::min(index, notes.size() - 1)].id));
}

void Desk::Inside::set_inflection(const DraftNote& note, InflectionKind what) {
    edit(SetInflection{note.id, Inflection{what, std::nullopt, by_hand}});
}

void Desk::Inside::drop_inflection(const DraftNote& note, InflectionKind like) {
    if (has_kind(note.note, like)) edit(RemoveInflection{note.id, like});
}

void Desk::Inside::on(const intents::SetBend& i) {
    const DraftNote* note = note_or_say();
    if (note == nullptr) return;
    if (!(i.size.value() > 0.0)) return drop_inflection(*note, Bend{});
    Bend bend;
    if (const Bend* old = find<Bend>(note->note)) bend = *old;  // keeps where it lies
    bend.size = i.size;
    bend.release = i.release;
    bend.prebend = i.prebend;
    if (!bend.release) bend.release_span.reset();
    set_inflection(*note, bend);
}

void Desk::Inside::on(const intents::StepBend& i) {
    const DraftNote* note = note_or_say();
    if (note == nullptr) return;
    const Bend* old = find<Bend>(note->note);
    if (old == nullptr) {
        if (i.quarters > 0) on(intents::SetBend{first_bend * i.quarters, false, false});
        return;
    }
    // To the next whole number of quarter tones, so that a measured 98 c becomes 150, not 148.
    const double quarters = std::round(old->size.value() / 50.0) + i.quarters;
    on(intents::SetBend{Cents(std::clamp(50.0 * quarters, 0.0, 400.0)), old->release,
                        old->prebend});
}

void Desk::Inside::on(const intents::TurnRelease&) {
    const DraftNote* note = note_or_say();
    if (note == nullptr) return;
    const Bend* old = find<Bend>(note->note);
    if (old == nullptr) return refuse("This note has no bend to let down");
    on(intents::SetBend{old->size, !old->release, old->prebend});
}

void Desk::Inside::on(const intents::TurnPrebend&) {
    const DraftNote* note = note_or_say();
    if (note == nullptr) return;
    const Bend* old = find<Bend>(note->note);
    if (old == nullptr) return refuse("This note has no bend that could be pre-bent");
    on(intents::SetBend{old->size, old->release, !old->prebend});
}

void Desk::Inside::on(const intents::SetSlideIn& i) {
    const DraftNote* note = note_or_say();
    if (note == nullptr) return;
    if (i.semitones == 0) return drop_inflection(*note, SlideIn{});
    SlideIn slide;
    if (const SlideIn* old = find<SlideIn>(note->note)) slide = *old;
    slide.from = MidiKey(note->note.key.value() + i.semitones);
    set_inflection(*note, slide);
}

void Desk::Inside::on(const intents::SetSlideOut& i) {
    const DraftNote* note = note_or_say();
    if (note == nullptr) return;
    if (i.semitones == 0) return drop_inflection(*note, SlideOut{});
    SlideOut slide;
    if (const SlideOut* old = find<SlideOut>(note->note)) slide = *old;
    slide.to = MidiKey(note->note.key.value() + i.semitones);
    set_inflection(*note, slide);
}

void Desk::Inside::on(const intents::SetSlideOn& i) {
    const DraftNote* note = note_or_say();
    if (note == nullptr) return;
    if (!i.on) return drop_inflection(*note, SlideToNext{});
    if (!has_kind(note->note, SlideToNext{})) set_inflection(*note, SlideToNext{});
}

void Desk::Inside::on(const intents::SetVibrato& i) {
    const DraftNote* note = note_or_say();
    if (note == nullptr) return;
    if (!(i.depth.value() > 0.0) || !(i.rate.value() > 0.0))
        return drop_inflection(*note, Vibrato{});
    Vibrato vibrato;
    if (const Vibrato* old = find<Vibrato>(note->note)) vibrato = *old;
    vibrato.rate = i.rate;
    vibrato.depth = i.depth;
    set_inflection(*note, vibrato);
}

void Desk::Inside::on(const intents::SetTrill& i) {
    const DraftNote* note = note_or_say();
    if (note == nullptr) return;
    if (i.semitones == 0) return drop_inflection(*note, Trill{});
    set_inflection(*note, Trill{i.semitones});
}

void Desk::Inside::on(const intents::SetStaccato& i) {
    const DraftNote* note = note_or_say();
    if (note == nullptr) return;
    if (!i.on) return drop_inflection(*note, Staccato{});
    if (!has_kind(note->note, Staccato{})) set_inflection(*note, Staccato{});
}

void Desk::Inside::on(const intents::SetAccent& i) {
    const DraftNote* note = note_or_say();
    if (note == nullptr) return;
    if (!i.on) return drop_inflection(*note, Accent{});
    if (!has_kind(note->note, Accent{})) set_inflection(*note, Accent{});
}

void Desk::Inside::on(const intents::Turn& i) {
    const std::optional<InflectionKind> kind = kind_called(i.kind);
    if (!kind) return refuse("There is no inflection called " + i.kind);
    const DraftNote* note = note_or_say();
    if (note == nullptr) return;
    if (has_kind(note->note, *kind)) return drop_inflection(*note, *kind);
    if (std::holds_alternative<Bend>(*kind))
        return on(intents::SetBend{first_bend * 2.0, false, false});
    if (std::holds_alternative<SlideIn>(*kind)) return on(intents::SetSlideIn{first_slide});
    if (std::holds_alternative<SlideOut>(*kind)) return on(intents::SetSlideOut{first_slide});
    if (std::holds_alternative<Trill>(*kind)) return on(intents::SetTrill{first_trill});
    if (std::holds_alternative<Vibrato>(*kind)) {
        Hertz rate = first_vibrato_rate;
        Cents depth = first_vibrato_depth;
        if (state.heard.line) {
            const Measured m =
                measure_span(*state.heard.line, {note->note.onset, note->note.offset});
            if (m.vibrato_rate) rate = *m.vibrato_rate;
            if (m.vibrato_depth) depth = *m.vibrato_depth;
        }
        return on(intents::SetVibrato{rate, depth});
    }
    set_inflection(*note, *kind);
}

}  // namespace bentline::window
