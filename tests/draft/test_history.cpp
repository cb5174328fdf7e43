// draft history: undo brings back exactly what was, redo exactly what came, at a bounded cost.
#include <doctest/doctest.h>

#include "drafts.h"
#include "engine/draft/history.h"

using namespace bentline;
using bentline::testing::EditMaker;
using bentline::testing::steady_line;

namespace {

void check_invariants(const Draft& draft) {
    for (std::size_t i = 0; i < draft.notes.size(); ++i) {
        const Note& n = draft.notes[i].note;
        REQUIRE(n.offset - n.onset >= shortest_note - Seconds(1e-9));
        REQUIRE(draft.notes[i].id < draft.next_id);
        if (i > 0) REQUIRE(draft.notes[i - 1].note.offset <= n.onset);
    }
    // NoteList::make checks ids and everything else.
    const auto row = draft.notes.handles();
    REQUIRE(NoteList::make(std::vector<NoteList::Handle>(row.begin(), row.end())).ok());
}

}  // namespace

TEST_CASE(
    "history: any edits, undone, give the original; redone, the last; on the way every state") {
    int fitted = 0;
    for (unsigned seed = 1; seed <= 12; ++seed) {
        History history(steady_line(120));
        const Draft original = history.now();
        EditMaker maker(seed);
        std::vector<Draft> states = {original};
        for (int i = 0; i < 150; ++i) {
            const Edit edit = maker.make(history.now());
            const Draft before = history.now();
            if (!history.edit(edit).ok()) {
                REQUIRE(history.now() == before);  // a refused edit leaves no trace
                continue;
            }
            ++fitted;
            check_invariants(history.now());
            if (history.done() == states.size()) states.push_back(history.now());
        }
        const Draft last = history.now();
        REQUIRE(history.steps() == states.size() - 1);
        for (std::size_t i = history.steps(); i-- > 0;) {
            history.undo();
            REQUIRE(history.now() == states[i]);
        }
        REQUIRE(history.now() == original);
        REQUIRE_FALSE(history.can_undo());
        for (std::size_t i = 1; i < states.size(); ++i) {
            history.redo();
            REQUIRE(history.now() == states[i]);
        }
        REQUIRE(history.now() == last);
        REQUIRE_FALSE(history.can_redo());
    }
    CHECK(fitted > 1000);  // most of 1800 random edits fit, so the test tests something
}

TEST_CASE("history: an edit after an undo forgets what was undone") {
    History h(steady_line(4));
    REQUIRE(h.edit(Retune{{NoteId{1}}, 1}).ok());
    REQUIRE(h.edit(Retune{{NoteId{1}}, 2}).ok());
    h.undo();
    REQUIRE(h.edit(Retune{{NoteId{2}}, 5}).ok());
    CHECK(h.steps() == 2);
    CHECK_FALSE(h.can_redo());
    CHECK(h.step(1).words == "bar 1: Db4 -> Gb4");
    CHECK(h.now().notes[0].note.key == MidiKey(61));
}

TEST_CASE("history: an edit that changes nothing is no step") {
    History h(steady_line(4));
    REQUIRE(h.edit(Retune{{NoteId{1}}, 0}).ok());
    REQUIRE(h.edit(Pencil{{NoteId{1}}}).ok());
    CHECK(h.steps() == 0);
}

TEST_CASE("history: edits that go on with the last one are one step, in the words of the whole") {
    const auto register_to = [](int lowest) {
        return SetFocus{Focus{Pitch(static_cast<double>(lowest)), Pitch(76.0), 0.0, 2.0}};
    };
    History h(steady_line(4));
    REQUIRE(h.edit(register_to(40)).ok());
    REQUIRE(h.edit(Ink{{NoteId{1}}}).ok());
    const Draft before = h.now();
    REQUIRE(h.edit(register_to(41)).ok());
    REQUIRE(h.edit(register_to(42), true).ok());
    REQUIRE(h.edit(register_to(43), true).ok());
    CHECK(h.steps() == 3);
    CHECK(h.step(2).words == "register E2 to E5 -> G2 to E5");
    h.undo();
    CHECK(h.now() == before);
    h.redo();
    CHECK(h.now().focus.lowest == Pitch(43.0));
    // Back to where it began, the step is gone.
    REQUIRE(h.edit(register_to(40), true).ok());
    CHECK(h.steps() == 2);
    CHECK(h.now() == before);
    CHECK_FALSE(h.can_redo());
    // What was saved, or undone, stays a step of its own.
    REQUIRE(h.edit(register_to(45)).ok());
    h.mark_saved();
    REQUIRE(h.edit(register_to(46), true).ok());
    CHECK(h.steps() == 4);
    h.undo();
    CHECK_FALSE(h.unsaved());
    h.undo();
    REQUIRE(h.edit(register_to(47), true).ok());
    CHECK(h.step(1).words == "bar 1: C4 inked");
    CHECK(h.steps() == 3);
    CHECK(h.step(2).words == "register E2 to E5 -> B2 to E5");
}

TEST_CASE("history: a place on the stage in words") {
    History h(steady_line(4));
    Focus focus = h.now().focus;
    REQUIRE(focus.whole_stage());
    focus.place = -0.2;
    focus.width = 0.8;
    REQUIRE(h.edit(SetFocus{focus}).ok());
    CHECK(h.step(0).words == "stage: all of it -> 40 % around left 20 %");
    focus.place = 0;
    REQUIRE(h.edit(SetFocus{focus}).ok());
    CHECK(h.step(1).words == "stage: 40 % around left 20 % -> 40 % around the middle");
}

TEST_CASE("history: it knows whether the draft is the saved one") {
    History h(steady_line(4));
    CHECK_FALSE(h.unsaved());
    REQUIRE(h.edit(Ink{{NoteId{1}}}).ok());
    CHECK(h.unsaved());
    h.mark_saved();
    h.undo();
    CHECK(h.unsaved());
    h.redo();
    CHECK_FALSE(h.unsaved());
    h.undo();
    REQUIRE(h.edit(Ink{{NoteId{2}}}).ok());
    h.undo();
    CHECK(h.unsaved());  // the saved draft is no longer on the list
    h.mark_saved();
    CHECK_FALSE(h.unsaved());
    h.mark_saved_aside();
    CHECK(h.unsaved());
    REQUIRE(h.edit(Ink{{NoteId{2}}}).ok());
    h.undo();
    CHECK(h.unsaved());
}

TEST_CASE("history: a step keeps only what it changed, however long the line") {
    History h(steady_line(3000));
    for (std::uint32_t i = 0; i < 4000; ++i) {
        REQUIRE(h.edit(Retune{{NoteId{1 + i % 3000}}, i % 2 == 0 ? 1 : 2}).ok());
    }
    REQUIRE(h.edit(AddNote{testing::note(900.0, 901.0, 60)}).ok());
    for (std::size_t i = 0; i < h.steps(); ++i) {
        REQUIRE(h.step(i).notes.size() == 1);
        REQUIRE_FALSE(h.step(i).rest.before);
    }
    while (h.can_undo())
        h.undo();
    CHECK(h.now() == steady_line(3000));
}

TEST_CASE("history: beyond its length the oldest steps are forgotten") {
    History h(steady_line(2));
    for (std::size_t i = 0; i < History::longest + 5; ++i) {
        REQUIRE(h.edit(Retune{{NoteId{1}}, i % 2 == 0 ? 1 : -1}).ok());
    }
    CHECK(h.steps() == History::longest);
    while (h.can_undo())
        h.undo();
    CHECK(h.now().notes[0].note.key == MidiKey(61));  // five steps in: +1 -1 +1 -1 +1
}

TEST_CASE("history: a change made from another draft is refused") {
    const Draft d = steady_line(5);
    const Draft fewer = apply(d, Discard{{NoteId{2}}}).value();
    const Change change = difference(d, fewer, "");
    CHECK(forward(d, change).value() == fewer);
    CHECK(backward(fewer, change).value() == d);
    CHECK_FALSE(forward(fewer, change).ok());
}
