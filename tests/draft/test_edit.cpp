// draft edits: what a player expects of each, and what is refused.
#include <doctest/doctest.h>

#include "drafts.h"
#include "engine/draft/draft_json.h"
#include "engine/draft/edit.h"

using namespace bentline;
using bentline::testing::note;
using bentline::testing::steady_line;

namespace {

// Three notes: C4 0.0-0.4, D4 0.5-0.9, E4 1.0-1.4, ids 1 to 3; 120 a minute from 0.
Draft three_notes() {
    Draft draft;
    draft.bars = BarMap::constant(Tempo(120.0), Seconds(0.0)).value();
    return pencil(draft, {note(0.0, 0.4, 60), note(0.5, 0.9, 62), note(1.0, 1.4, 64)}).value();
}

Draft after(const Draft& draft, const Edit& edit) {
    auto result = apply(draft, edit);
    REQUIRE_MESSAGE(result.ok(), (result.ok() ? "" : result.failure().sentence));
    return std::move(result).value();
}

std::string refusal(const Draft& draft, const Edit& edit) {
    const auto result = apply(draft, edit);
    REQUIRE_FALSE(result.ok());
    CHECK(result.failure().kind == FailureKind::bad_edit);
    return result.failure().sentence;
}

Note bent(Note n, double size, double start, double peak) {
    n.inflections.push_back(
        {Bend{Cents(size), Seconds(start), Seconds(peak), false, false, {}}, {}, ""});
    return n;
}

}  // namespace

TEST_CASE("draft: a fresh draft is pencilled, with ids in order of onset") {
    const Draft d = three_notes();
    REQUIRE(d.notes.size() == 3);
    CHECK(d.notes[2].id == NoteId{3});
    CHECK(d.next_id == NoteId{4});
    for (const DraftNote& n : d.notes)
        CHECK(n.state == NoteState::pencilled);
    CHECK(select_notes(d, WhichNotes::inked).empty());
    CHECK(select_notes(d, WhichNotes::inked_and_pencilled).size() == 3);
}

TEST_CASE("draft: ink, back to pencil, discard; the draft before stays as it was") {
    const Draft d = three_notes();
    const Draft inked = after(d, Ink{{NoteId{1}, NoteId{3}}});
    CHECK(inked.notes[0].inked());
    CHECK_FALSE(inked.notes[1].inked());
    CHECK(select_notes(inked, WhichNotes::inked).size() == 2);
    CHECK_FALSE(d.notes[0].inked());
    CHECK(after(inked, Pencil{{NoteId{1}, NoteId{3}}}) == d);
    const Draft fewer = after(d, Discard{{NoteId{2}}});
    REQUIRE(fewer.notes.size() == 2);
    CHECK(fewer.notes[1].id == NoteId{3});
    CHECK(refusal(fewer, Ink{{NoteId{2}}}).find("no longer in the draft") != std::string::npos);
}

TEST_CASE("draft: a moved note takes its inflections along and damps what still sounds") {
    Draft d = three_notes();
    d = after(d, SetInflection{NoteId{2}, bent(note(0, 1, 0), 100, 0.6, 0.7).inflections[0]});
    const Draft moved = after(d, Move{{NoteId{2}}, Seconds(-0.2)});
    CHECK(moved.notes[1].note.onset.value() == doctest::Approx(0.3));
    CHECK(moved.notes[1].note.offset.value() == doctest::Approx(0.7));
    CHECK(find<Bend>(moved.notes[1].note)->start->value() == doctest::Approx(0.4));
    CHECK(find<Bend>(moved.notes[1].note)->peak->value() == doctest::Approx(0.5));
    CHECK(moved.notes[0].note.offset == moved.notes[1].note.onset);  // the C is cut
    const Draft late = after(d, Move{{NoteId{2}}, Seconds(0.3)});
    CHECK(late.notes[1].note.offset == Seconds(1.0));  // stops at the E
}

TEST_CASE("draft: a note does not jump over its neighbour") {
    const Draft d = three_notes();
    CHECK(refusal(d, Move{{NoteId{2}}, Seconds(0.6)}).find("cannot pass its neighbour") !=
          std::string::npos);
    CHECK(refusal(d, Move{{NoteId{2}}, Seconds(-0.5)}).find("bar 1:2") != std::string::npos);
    // All three together have no neighbour to pass.
    const Draft all = after(d, Move{{NoteId{1}, NoteId{2}, NoteId{3}}, Seconds(-7.0)});
    CHECK(all.notes[0].note.onset.value() == doctest::Approx(-7.0));
    CHECK(refusal(d, Move{{NoteId{2}}, Seconds(std::nan(""))}) != "");
}

TEST_CASE("draft: an end stops at the next onset, and inflections are cut to fit") {
    Draft d = three_notes();
    CHECK(after(d, Resize{NoteId{1}, {Seconds(0.0), Seconds(0.8)}}).notes[0].note.offset ==
          Seconds(0.5));
    Inflection shake{
        Vibrato{Hertz(5.0), Cents(30.0), SecondsRange{Seconds(0.6), Seconds(0.9)}}, {}, ""};
    d = after(d, SetInflection{NoteId{2}, shake});
    const Draft shorter = after(d, Resize{NoteId{2}, {Seconds(0.5), Seconds(0.75)}});
    CHECK(find<Vibrato>(shorter.notes[1].note)->span->to == Seconds(0.75));
    const Draft clipped = after(d, Resize{NoteId{2}, {Seconds(0.5), Seconds(0.58)}});
    CHECK(find<Vibrato>(clipped.notes[1].note) == nullptr);
    CHECK(refusal(d, Resize{NoteId{2}, {Seconds(0.5), Seconds(0.505)}}).find("10 ms") !=
          std::string::npos);
}

TEST_CASE("draft: a retuned note keeps the intervals of its slides and drops the old measure") {
    Draft d = three_notes();
    d = after(d, SetInflection{NoteId{1}, {SlideIn{MidiKey(58), {}}, {}, ""}});
    const Draft up = after(d, Retune{{NoteId{1}}, 12});
    CHECK(up.notes[0].note.key == MidiKey(72));
    CHECK(find<SlideIn>(up.notes[0].note)->from == MidiKey(70));
    CHECK_FALSE(up.notes[0].note.cents.has_value());
    CHECK(refusal(d, Retune{{NoteId{1}}, 70}).find("0 to 127") != std::string::npos);
}

TEST_CASE("draft: split and join are each other's undoing in time") {
    Draft d = three_notes();
    Note held = bent(note(0.0, 0.4, 60), 100, 0.25, 0.3);
    d = after(d, SetInflection{NoteId{1}, held.inflections[0]});
    d = after(d, SetInflection{NoteId{1}, {Accent{}, {}, ""}});
    d = after(d, SetInflection{NoteId{1}, {Staccato{}, {}, ""}});
    const Draft two = after(d, Split{NoteId{1}, Seconds(0.2)});
    REQUIRE(two.notes.size() == 4);
    CHECK(two.notes[0].id == NoteId{1});
    CHECK(two.notes[1].id == NoteId{4});
    CHECK(two.next_id == NoteId{5});
    CHECK(find<Accent>(two.notes[0].note) != nullptr);  // the stroke is at the beginning
    CHECK(find<Bend>(two.notes[0].note) == nullptr);    // the bend begins in the second part
    CHECK(find<Bend>(two.notes[1].note) != nullptr);
    CHECK(find<Staccato>(two.notes[1].note) != nullptr);  // the damping is at the end
    CHECK(find<Staccato>(two.notes[0].note) == nullptr);
    const Draft one = after(two, Join{NoteId{1}, NoteId{4}});
    REQUIRE(one.notes.size() == 3);
    CHECK(one.notes[0].note.onset == Seconds(0.0));
    CHECK(one.notes[0].note.offset == Seconds(0.4));
    CHECK(one.notes[0].note.inflections.size() == 3);
    CHECK(refusal(d, Split{NoteId{1}, Seconds(0.395)}).find("10 ms on both sides") !=
          std::string::npos);
    CHECK(refusal(d, Join{NoteId{1}, NoteId{3}}).find("Only neighbours") != std::string::npos);
    CHECK(refusal(d, Join{NoteId{2}, NoteId{1}}).find("Only neighbours") != std::string::npos);
}

TEST_CASE("draft: an added note is inked and damps the note before it") {
    const Draft d = three_notes();
    const Draft more = after(d, AddNote{note(0.3, 0.7, 67)});
    REQUIRE(more.notes.size() == 4);
    CHECK(more.notes[1].inked());
    CHECK(more.notes[1].id == NoteId{4});
    CHECK(more.notes[0].note.offset == Seconds(0.3));
    CHECK(more.notes[1].note.offset == Seconds(0.5));
    CHECK(refusal(d, AddNote{note(0.503, 0.7, 67)}).find("There is a note at bar 1:2 already") !=
          std::string::npos);
    CHECK(after(d, AddNote{note(-3.0, -2.0, 67)}).notes[0].note.key ==
          MidiKey(67));  // before bar 1
}

TEST_CASE("draft: pencilling anew never touches an inked note") {
    Draft d = after(three_notes(), Ink{{NoteId{2}}});
    const DraftNote inked = d.notes[1];
    const std::vector<Note> anew = {note(0.1, 0.45, 59), note(0.47, 0.8, 61), note(0.6, 0.7, 63),
                                    note(0.92, 1.1, 65), note(2.5, 2.7, 66)};
    const Draft again = after(d, Repencil{{Seconds(0.05), Seconds(2.0)}, anew});
    // Kept: the C before the range and the inked D. New: 0.1; 0.47 cut at the D; 0.92. Left out:
    // the one inside the D, and the one beyond the range. Gone: the pencilled E.
    REQUIRE(again.notes.size() == 5);
    CHECK(again.notes[0].note.offset == Seconds(0.1));
    CHECK(again.notes[2].note.offset == Seconds(0.5));
    CHECK(again.notes[3] == inked);
    CHECK(again.notes[4].note.key == MidiKey(65));
    CHECK(again.next_id == NoteId{7});
}

TEST_CASE("draft: bars, key, form and chords never move a note") {
    const Draft d = steady_line(40);
    Draft other = after(d, SetBars{BarMap::constant(Tempo(90.0), Seconds(3.3)).value(), ""});
    other = after(other, SetMetre{Metre{3, 4}});
    other = after(other, SetKey{Key{-3, false}});
    other = after(other, SetForm{parse_form("AABA").value()});
    other = after(other, SetChord{3, "Eb6 C7"});
    other = after(other, SetKeys{parse_keys("Eb, B in Ab", other.form).value()});
    CHECK(other.notes == d.notes);
    CHECK(other.key_at(other.bars->time_of(BarBeat{17, Beats(0.0)})) == Key{-4, false});
    CHECK(other.key_at(other.bars->time_of(BarBeat{25, Beats(0.0)})) == Key{-3, false});
    CHECK(describe(d, SetKeys{other.keys()}) == "key none -> Eb major, B in Ab major");
    CHECK(other.chords == std::vector<std::string>{"", "", "Eb6 C7"});
    CHECK(after(other, SetChord{3, ""}).chords.empty());
    CHECK(after(other, SetBars{std::nullopt, ""}).notes == d.notes);
}

TEST_CASE("draft: bar 1 lies within an hour of the music, whatever is edited") {
    const auto at = [](double time) {
        return SetBars{BarMap::constant(Tempo(120.0), Seconds(time)).value(), ""};
    };
    const Draft d = steady_line(40);  // 0 to 9.95 s
    const Draft before = after(d, at(-3599.9));
    const Draft behind = after(d, at(3609.9));
    CHECK(refusal(d, at(-3600.1)).find("Bar 1 would be at -3600.100 s") == 0);
    CHECK(refusal(d, at(3610.1)).find("an hour away from the music (0.000 s to 9.950 s)") !=
          std::string::npos);
    // It holds from the side of the notes, too: what is saved can be opened again.
    CHECK(refusal(behind, Discard{{NoteId{40}}}).find("an hour away") != std::string::npos);
    CHECK(read_draft_text(draft_text(before), "x").value() == before);
    CHECK(read_draft_text(draft_text(behind), "x").value() == behind);
    // A long recording: bar 1 where it begins, the notes hours later.
    const Draft late = after(d, AddNote{note(9000.0, 9001.0, 60)});
    CHECK(after(late, Repencil{{Seconds(0), Seconds(20)}, {}}).notes.size() == 1);
    // An excerpt of it.
    const Draft excerpt = after(late, SetChorus{SecondsRange{Seconds(8000.0), Seconds(9100.0)}});
    const Draft alone = after(excerpt, Repencil{{Seconds(0), Seconds(20)}, {}});
    CHECK(alone.notes.size() == 1);
    CHECK(after(alone, at(12600.0)).bars->time_of(Beats(0.0)) == Seconds(12600.0));
    CHECK(refusal(alone, at(12700.1)).find("to 9100.000 s)") != std::string::npos);
}

TEST_CASE("draft: without a bar map everything counts in seconds") {
    Draft d = three_notes();
    d.bars.reset();
    CHECK(refusal(d, SetMetre{Metre{3, 4}}).find("place the bars first") != std::string::npos);
    CHECK(describe(d, Retune{{NoteId{2}}, 1}) == "0.5 s: D4 -> Eb4");
    CHECK(after(d, Move{{NoteId{2}}, Seconds(0.05)}).notes.size() == 3);
    CHECK_FALSE(span_of_bars(d, 1, 2).ok());
}

TEST_CASE("draft: values that mean nothing are refused") {
    const Draft d = three_notes();
    CHECK(refusal(d, SetFocus{Focus{Pitch(60.0), Pitch(50.0), 0.0, 2.0}}) != "");
    CHECK(refusal(d, SetFocus{Focus{Pitch(50.0), Pitch(60.0), 0.0, 3.0}}) != "");
    CHECK(refusal(d, SetTuning{Cents(std::nan(""))}) != "");
    CHECK(refusal(d, SetKey{Key{9, false}}) != "");
    CHECK(refusal(d, SetForm{{{"A", 1, 8, Key{-8, false}}}}) != "");
    CHECK(refusal(d, SetChord{0, "C"}) != "");
    CHECK(refusal(d, SetChorus{SecondsRange{Seconds(3.0), Seconds(2.0)}}) != "");
    CHECK(refusal(d, SetForm{{{"A", 1, 8}, {"B", 10, 8}}}).find("bar 10") != std::string::npos);
    CHECK(refusal(d, SetPin{{NoteId{1}}, Pin{0, {}}}) != "");
    CHECK(refusal(d, SetInflection{
                         NoteId{1},
                         {Bend{Cents(std::nan("")), {}, {}, false, false, {}}, {}, ""}}) != "");
    CHECK(refusal(d, AddNote{note(5.0, std::nan(""), 60)}) != "");
}

TEST_CASE("draft: every edit describes itself in words") {
    Draft d = steady_line(60);
    const NoteId bent_id = d.notes[48].id;  // at 12 s: the first beat of bar 7
    Inflection half{Bend{Cents(50.0), {}, {}, true, false, {}}, {}, ""};
    CHECK(describe(d, SetInflection{bent_id, half}) == "bar 7: bend 100 c -> 50 c released");
    CHECK(describe(d, SetInflection{bent_id, {Staccato{}, {}, ""}}) == "bar 7: staccato added");
    CHECK(describe(d, RemoveInflection{bent_id, Vibrato{}}) == "bar 7: vibrato taken away");
    CHECK(describe(d, Ink{{bent_id}}) == "bar 7: C4 inked");
    CHECK(describe(d, Ink{d.notes.ids_within({Seconds(0.0), Seconds(2.0)})}) ==
          "bar 1: 8 notes inked");
    CHECK(describe(d, Ink{d.notes.ids_within({Seconds(0.0), Seconds(4.0)})}) ==
          "bars 1 to 2: 16 notes inked");
    CHECK(describe(d, Retune{{bent_id}, -1}) == "bar 7: C4 -> B3");
    CHECK(describe(d, Retune{{bent_id, NoteId{1}}, 12}) == "bars 1 to 7: 2 notes +12 semitones");
    CHECK(describe(d, Retune{{bent_id, NoteId{1}}, -1}) == "bars 1 to 7: 2 notes -1 semitone");
    CHECK(describe(d, Move{{bent_id}, Seconds(-0.02)}) == "bar 7: C4 moved 20 ms earlier");
    CHECK(describe(d, Resize{bent_id, {Seconds(12.0), Seconds(12.1)}}) ==
          "bar 7: C4 lasts 0.200 s -> 0.100 s");
    CHECK(describe(d, SetMetre{Metre{3, 4}}) == "metre 4/4 -> 3/4");
    CHECK(describe(d, SetKey{Key{-3, false}}) == "key none -> Eb major");
    CHECK(describe(d, SetForm{parse_form("AABA").value()}) == "form none -> AABA");
    CHECK(describe(d, SetChord{5, "Eb6"}) == "bar 5: chords none -> Eb6");
    CHECK(describe(d, SetBars{d.bars, "bar 1 is here"}) == "bar 1 is here");
    CHECK(describe(d, SetBars{BarMap::constant(Tempo(90.5), Seconds(3.25)).value(), ""}) ==
          "bars changed: 4/4, bar 1 at 3.250 s, 90.5 beats a minute");
    testing::EditMaker maker(3);
    for (int i = 0; i < 300; ++i)
        CHECK_FALSE(describe(d, maker.make(d)).empty());
}
