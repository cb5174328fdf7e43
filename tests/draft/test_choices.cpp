// draft: doubtful notes offer readings to choose from; what is known goes back as hints.
#include <doctest/doctest.h>

#include "drafts.h"
#include "engine/draft/draft_hints.h"
#include "engine/draft/draft_json.h"
#include "engine/draft/edit.h"

using namespace bentline;
using bentline::testing::note;

namespace {

Draft doubtful() {
    Note n = note(0.5, 0.9, 62);
    n.confidence = 0.55;
    n.cents = Cents(12.0);
    n.cents_error = Cents(3.5);
    n.inflections = {
        {Bend{Cents(98.0), Seconds(0.6), Seconds(0.7), false, false, {}, Cents(4.0)}, 0.6, "rose"},
        {Vibrato{Hertz(5.5), Cents(20.0), {}, Hertz(0.1), Cents(2.0)}, 0.7, ""}};
    n.alternatives = {{MidiKey(74), {}, 0.2, "an octave higher"},
                      {std::nullopt, {}, 0.15, "not a note of the soloist"}};
    Draft draft;
    draft.bars = BarMap::constant(Tempo(120.0), Seconds(0.0)).value();
    draft.tuning = Cents(-7.0);
    return pencil(draft, {note(0.0, 0.4, 60), n, note(1.0, 1.4, 64)}).value();
}

}  // namespace

TEST_CASE("choices: a reading is taken with one edit, and choosing again goes back") {
    const Draft d = doubtful();
    const NoteId id = d.notes[1].id;
    const auto octave = apply(d, TakeAlternative{id, 0});
    REQUIRE(octave.ok());
    const Note& n = octave->notes[1].note;
    CHECK(n.key == MidiKey(74));
    CHECK(n.inflections.empty());
    CHECK_FALSE(n.cents.has_value());
    REQUIRE(n.alternatives.size() == 2);
    CHECK(n.alternatives[0].key == MidiKey(62));
    CHECK(describe(d, TakeAlternative{id, 0}).find("an octave higher") != std::string::npos);
    const auto back = apply(*octave, TakeAlternative{id, 0});
    REQUIRE(back.ok());
    CHECK(back->notes[1].note.key == MidiKey(62));
    CHECK(back->notes[1].note.inflections == d.notes[1].note.inflections);
    const auto gone = apply(d, TakeAlternative{id, 1});
    REQUIRE(gone.ok());
    CHECK(gone->notes.size() == 2);
    CHECK(gone->notes.find(id) == nullptr);
    const auto none = apply(d, TakeAlternative{id, 2});
    REQUIRE_FALSE(none.ok());
    CHECK(none.failure().kind == FailureKind::bad_edit);
}

TEST_CASE("choices: another key by hand ends the choice") {
    const Draft d = doubtful();
    const auto up = apply(d, Retune{{d.notes[1].id}, 2});
    REQUIRE(up.ok());
    CHECK(up->notes[1].note.alternatives.empty());
    CHECK_FALSE(up->notes[1].note.cents_error.has_value());
}

TEST_CASE("choices: alternatives and standard errors come back from the file") {
    const Draft d = doubtful();
    const auto read = read_draft_text(draft_text(d), "choices");
    REQUIRE(read.ok());
    CHECK(read->notes[1].note == d.notes[1].note);
}

TEST_CASE("choices: a draft's inked notes, beats and tuning are its hints") {
    Draft d = doubtful();
    d = apply(d, Ink{{d.notes[2].id}}).value();
    const Hints hints = hints_of(d, {Seconds(0.25), Seconds(2.0)});
    REQUIRE(hints.inked.size() == 1);
    CHECK(hints.inked[0] == d.notes[2].note);
    CHECK(hints.tuning == Cents(-7.0));
    // 120 a minute from 0: beats from 0 to 2 s around the span.
    REQUIRE(hints.beats.size() == 5);
    CHECK(hints.beats[1] == Seconds(0.5));
    CHECK(hints_of(d, {Seconds(0.0), Seconds(0.8)}).inked.empty());
}

TEST_CASE("choices: a pencilled note that is discarded is not brought back by pencilling anew") {
    const Draft d = doubtful();
    const std::vector<Note> all = select_notes(d, WhichNotes::inked_and_pencilled);
    const Draft fewer = apply(d, Discard{{d.notes[1].id}}).value();
    REQUIRE(fewer.not_these.size() == 1);
    CHECK(fewer.not_these[0] == NotThis{{Seconds(0.5), Seconds(0.9)}, MidiKey(62)});
    const Draft anew = apply(fewer, Repencil{{Seconds(0), Seconds(2)}, all}).value();
    REQUIRE(anew.notes.size() == 2);
    CHECK(anew.notes[1].note.key == MidiKey(64));
    const Hints hints = hints_of(fewer, {Seconds(0), Seconds(2)});
    CHECK(hints.not_these == fewer.not_these);
    CHECK(hints_of(fewer, {Seconds(1), Seconds(2)}).not_these.empty());
    // An inked note was no proposal: taking it away says nothing about what is heard.
    const Draft inked = apply(d, Ink{{d.notes[1].id}}).value();
    CHECK(apply(inked, Discard{{d.notes[1].id}})->not_these.empty());
    // Inking the same pitch there later contradicts it, and counts for more.
    const Draft added = apply(fewer, AddNote{note(0.55, 0.8, 62), NoteState::inked}).value();
    CHECK(hints_of(added, {Seconds(0), Seconds(2)}).not_these.empty());
}

TEST_CASE("choices: another pitch rules the old one out, and going back allows it again") {
    const Draft d = doubtful();
    const NoteId id = d.notes[1].id;
    const Draft octave = apply(d, TakeAlternative{id, 0}).value();
    REQUIRE(octave.not_these.size() == 1);
    CHECK(octave.not_these[0].key == MidiKey(62));
    const Draft back = apply(octave, TakeAlternative{id, 0}).value();
    REQUIRE(back.not_these.size() == 1);
    CHECK(back.not_these[0].key == MidiKey(74));
    const Draft gone = apply(d, TakeAlternative{id, 1}).value();
    REQUIRE(gone.not_these.size() == 1);
    CHECK(gone.not_these[0].key == MidiKey(62));
}

TEST_CASE(
    "choices: marks of notes that were heard lie in order, go when set again, and are saved") {
    Draft d = doubtful();
    d = apply(d, MarkHere{Seconds(1.8), {}}).value();
    CHECK(describe(d, MarkHere{Seconds(0.2), {}}) == "bar 1:1.4: a note is here");
    d = apply(d, MarkHere{Seconds(0.2), MidiKey(65)}).value();
    REQUIRE(d.here.size() == 2);
    CHECK(d.here[0] == NoteHere{Seconds(0.2), MidiKey(65)});
    CHECK(hints_of(d, {Seconds(0), Seconds(1)}).here == std::vector<NoteHere>{d.here[0]});
    d = apply(d, Discard{{d.notes[0].id}}).value();
    const auto read = read_draft_text(draft_text(d), "marks.bentline");
    REQUIRE(read.ok());
    CHECK(*read == d);
    CHECK(apply(d, MarkHere{Seconds(0.2) + here_tolerance * 0.9, {}})->here.size() == 1);
    CHECK_FALSE(apply(d, MarkHere{Seconds(0.0) / 0.0, {}}).ok());
}
