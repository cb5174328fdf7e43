// desk: what the player says while mending (other readings, notes that are there, notes that are
// none), sections and choruses, loops that go on, and undo that shows what it undid.
#include <algorithm>
#include <cmath>
#include <fstream>
#include <iterator>

#include <doctest/doctest.h>

#include "engine/draft/draft_file.h"
#include "engine/draft/draft_hints.h"
#include "evening.h"
#include "headless.h"
#include "tones.h"
#include "ui/window/keymap.h"
#include "ui/window/layout.h"

using namespace bentline;
using namespace bentline::window;

namespace {

// The made draft with its second note in doubt, on a desk.
struct Doubtful {
    Folder folder;
    Desk desk{{.sound = Sound::off, .remember = {}}};
    explicit Doubtful(const char* name) : folder(name) {
        std::vector<Note> notes = made_notes();
        notes[1].inflections.clear();
        notes[1].alternatives = {{MidiKey(77), {}, 0.3, "an octave higher"},
                                 {std::nullopt, {}, 0.2, "not a note of the soloist"},
                                 {MidiKey(66), {}, 0.1, "a semitone higher"}};
        Draft draft = made_draft();
        draft.notes = NoteList();
        draft.next_id = NoteId{1};
        REQUIRE(save_draft(pencil(draft, notes).value(), folder / "made.bentline").ok());
        open();
    }
    void open() {
        desk.apply(intents::Open{(folder / "made.bentline").string()});
        desk.wait_for_work();
        desk.apply(intents::Dismiss{});
    }
    const State& s() const { return desk.state(); }
    void press(const char* stroke) {
        const auto intent = intent_of(stroke, s());
        REQUIRE(intent);
        desk.apply(*intent);
    }
};

}  // namespace

TEST_CASE("said: one key goes round the readings of a doubtful note, undo takes each back") {
    Doubtful e("said_readings");
    REQUIRE(e.s().draft.notes[1].note.key == MidiKey(65));
    e.desk.apply(intents::Pick{2});
    const Draft first = e.s().draft;
    // The octave, then the semitone (that it is none is said by discarding it), then as it was.
    e.press("tab");
    CHECK(e.s().picked()->note.key == MidiKey(77));
    REQUIRE(e.s().draft.not_these.size() == 1);
    e.press("tab");
    CHECK(e.s().picked()->note.key == MidiKey(66));
    e.press("tab");
    CHECK(e.s().picked()->note.key == MidiKey(65));
    CHECK(e.s().done.back().find("read anew") != std::string::npos);
    for (int i = 0; i < 3; ++i)
        e.press("ctrl+z");
    CHECK(e.s().draft == first);
    e.desk.apply(intents::Pick{1});
    e.press("tab");
    REQUIRE(e.s().notice);
    CHECK(e.s().notice->failed);
    CHECK(e.s().draft == first);
}

TEST_CASE("said: a doubtful note shows its readings where they would lie, and in words") {
    State s = made_state();
    s.pick = NoteId{1};
    const auto image_of = [](const State& state) {
        Headless h;
        h.frame(state);
        h.frame(state);
        CHECK(h.scratch.shortened.empty());
        return h.image(state);
    };
    const Image without = image_of(s);
    std::vector<Note> notes = made_notes();
    notes[0].alternatives = {{MidiKey(75), {}, 0.3, "an octave higher"}};
    Draft draft = made_draft();
    draft.notes = NoteList();
    s.draft = pencil(draft, notes).value();
    const Image with = image_of(s);
    // Ink in the row of the other reading, where without it there is none.
    const Axes axes{lay_out(1280, 720, 1, true).grid, s.look, s.rows};
    const auto differing = [&](Box b) {
        int count = 0;
        for (int y = static_cast<int>(b.y0); y < static_cast<int>(b.y1); ++y) {
            for (int x = static_cast<int>(b.x0); x < static_cast<int>(b.x1); ++x)
                count +=
                    std::equal(with.pixel(x, y), with.pixel(x, y) + 3, without.pixel(x, y)) ? 0 : 1;
        }
        return count;
    };
    const float mid = axes.y(Pitch(75.0)), half = axes.row_height() / 2;
    const float x0 = axes.x(notes[0].onset), x1 = axes.x(notes[0].offset);
    CHECK(differing({x0, mid - half, x1 + 30, mid + half}) > 20);
    CHECK(differing(lay_out(1280, 720, 1, true).slip) > 50);
    CHECK(differing(lay_out(1280, 720, 1, true).chart) == 0);
}

TEST_CASE("said: a note that is here is marked by key, kept in the file, and found again") {
    Folder folder("said_here");
    REQUIRE(write_tones(folder / "tones.wav"));
    Desk desk({.sound = Sound::off, .remember = {}});
    std::istringstream script("open \"" + (folder / "tones.wav").string() +
                              "\"\nwait\ngo 2.9\nmark-here\ngo 3.3\nmark-here\ngo 3.28\nmark-here\n"
                              "pick 1\ndiscard\nsave\nwait\n");
    REQUIRE(play_session(desk, script).ok());
    const State& s = desk.state();
    REQUIRE(s.draft.here.size() == 1);  // the second one was taken away again
    CHECK(std::abs(s.draft.here[0].at.value() - 2.9) < 1e-9);
    REQUIRE(s.draft.not_these.size() == 1);
    const NoteId after = s.draft.notes[0].id;
    // Pencilled again, the discarded note stays away; undone, it may come back.
    std::istringstream again("pencil-again\nwait\n");
    REQUIRE(play_session(desk, again).ok());
    CHECK(s.draft.notes[0].note.key == MidiKey(64));
    CHECK(s.draft.notes[0].id != after);  // it was pencilled anew
    Desk next({.sound = Sound::off, .remember = {}});
    next.apply(intents::Open{(folder / "tones.bentline").string()});
    next.wait_for_work();
    CHECK(next.state().draft.here == s.draft.here);
    CHECK(next.state().draft.not_these == s.draft.not_these);
}

TEST_CASE("said: what is looked at is pencilled first, and the whole is the same as without") {
    Folder folder("said_first");
    REQUIRE(write_tones(folder / "tones.wav"));
    const auto notes_with = [&](const char* loop) {
        Desk desk({.sound = Sound::off, .remember = {}});
        std::istringstream script("open \"" + (folder / "tones.wav").string() + "\"\nwait\n" +
                                  loop + "loop-off\npencil-again\nwait\n");
        REQUIRE(play_session(desk, script).ok());
        return desk.state().draft.notes;
    };
    const NoteList near = notes_with("look-at 0.4 1.6\n"), all = notes_with("look-at 0 4\n");
    REQUIRE(near.size() == all.size());
    for (std::size_t i = 0; i < all.size(); ++i)
        CHECK(near[i].note == all[i].note);
}

TEST_CASE("said: sections are named, split, joined and put before and after by their letters") {
    Evening e("said_sections");
    const auto form = [&] { return to_text(e.s().draft.form); };
    REQUIRE(form() == "AABA");
    e.play("section 17 \"C\"");
    CHECK(form() == "AACA");
    e.play("section 21 \"D\"");  // bars 17 to 20 are left to C
    REQUIRE(e.s().draft.form.size() == 5);
    CHECK(e.s().draft.form[2] == Section{"C", 17, 4});
    CHECK(e.s().draft.form[3] == Section{"D", 21, 4});
    e.play("section 21 \"\"");
    CHECK(e.s().draft.form[2] == Section{"C", 17, 8});
    e.play("section 41 \"E\"");  // no gap: the last A lasts until then
    CHECK(e.s().draft.form[3] == Section{"A", 25, 16});
    CHECK(e.s().draft.form[4] == Section{"E", 41, 8});
    e.play("undo\nundo\nundo\nundo");
    CHECK(form() == "AABA");
    CHECK(e.s().undone.size() == 4);
}

TEST_CASE(
    "said: a form played several times over takes its chords along, and is one that is read") {
    Evening e("said_choruses");
    e.play("form \"AABA x3\"");
    CHECK(e.s().draft.form.size() == 12);
    CHECK(e.s().draft.form.back() == Section{"A", 89, 8});
    REQUIRE(e.s().draft.chords.size() == 96);
    for (std::size_t bar = 0; bar < 32; ++bar) {
        CHECK(e.s().draft.chords[bar + 32] == e.s().draft.chords[bar]);
        CHECK(e.s().draft.chords[bar + 64] == e.s().draft.chords[bar]);
    }
    e.play("form \"AABA x999\"");
    CHECK(e.refused());
    CHECK(e.s().draft.form.size() == 12);
}

TEST_CASE("said: the loop goes on by its own bars, back, and is refused beyond the ends") {
    Evening e("said_loop");
    e.play("loop-bars 3 4");
    const auto press = [&](const char* stroke) {
        const auto intent = intent_of(stroke, e.s());
        REQUIRE(intent);
        e.desk.apply(*intent);
    };
    press("ctrl+]");
    REQUIRE(e.s().play.loop);
    CHECK(std::abs((e.s().play.loop->from - e.s().draft.bars->bar_span(5).from).value()) < 1e-9);
    CHECK(std::abs((e.s().play.loop->to - e.s().draft.bars->bar_span(6).to).value()) < 1e-9);
    press("ctrl+[");
    press("ctrl+[");
    CHECK(std::abs((e.s().play.loop->from - e.s().draft.bars->bar_span(1).from).value()) < 1e-9);
    press("ctrl+[");
    CHECK(e.refused());
    // By a bar of the metre, whatever its length.
    press("alt+]");
    CHECK(std::abs((e.s().play.loop->from - e.s().draft.bars->bar_span(2).from).value()) < 1e-9);
    CHECK(std::abs((e.s().play.loop->to - e.s().draft.bars->bar_span(3).to).value()) < 1e-9);
    press("alt+[");
    CHECK(std::abs((e.s().play.loop->from - e.s().draft.bars->bar_span(1).from).value()) < 1e-9);
}

TEST_CASE("said: undo and redo bring what changed into view, and the note to hand") {
    Evening e("said_undo");
    e.play("pick 3\nstep-pitch 1\npick 120");
    REQUIRE_FALSE(e.s().look.contains(e.note(2).onset));
    e.play("undo");
    CHECK(e.s().look.contains(e.note(2).onset));
    CHECK(e.s().pick == NoteId{3});
    e.play("look-at 50 58\nredo");
    CHECK(e.s().look.contains(e.note(2).onset));
    // What is in view already does not make it jump.
    const SecondsRange look = e.s().look;
    e.play("undo");
    CHECK(e.s().look.from == look.from);
}

TEST_CASE("desk: the lesson sheet is handed out as a page for a browser, inked notes only") {
    Evening e("desk_lesson");
    const fs::path page = e.folder / "solo.html";
    e.desk.apply(intents::HandOut{page.string(), false, false});
    CHECK(e.refused());  // nothing is inked
    e.play("ink-bars 1 4");
    e.desk.apply(intents::HandOut{page.string(), false, false});
    e.desk.wait_for_work();
    CHECK(e.said().find("solo.html holds the lesson sheet") == 0);
    std::ifstream in(page);
    const std::string text{std::istreambuf_iterator<char>(in), {}};
    CHECK(text.find("<html") != std::string::npos);
    CHECK(text.find("Lantern Street") != std::string::npos);
    e.desk.apply(intents::HandOut{(e.folder / "SOLO.HTML").string(), false, false});
    e.desk.wait_for_work();
    CHECK(e.said().find("SOLO.HTML holds the lesson sheet") == 0);
    e.desk.apply(intents::HandOut{(e.folder / "no/solo.html").string(), false, false});
    e.desk.wait_for_work();
    CHECK(e.refused());
}

TEST_CASE("desk: what is edited while the draft is saved stays unsaved, also when taken back") {
    Evening e("desk_while_saving");
    const std::string file = (e.folder / "made.bentline").string();
    e.play("ink-bars 1 1");
    e.desk.apply(intents::Save{});  // taken down as it is now; what follows is newer
    e.play("undo");
    e.desk.wait_for_work();
    REQUIRE(e.said().find("Saved as") == 0);
    CHECK(e.s().unsaved);
    CHECK_FALSE(load_draft(file).value().draft == e.s().draft);
    e.desk.apply(intents::Save{});
    e.desk.wait_for_work();
    CHECK_FALSE(e.s().unsaved);
    CHECK(load_draft(file).value().draft == e.s().draft);
}

TEST_CASE("desk: practice clips go into a folder, also one with a dot in its name") {
    Evening e("desk_clips");
    e.play("ink-bars 1 4");
    e.desk.apply(intents::HandOut{(e.folder / "take.07/").string(), false, false});
    e.desk.wait_for_work();
    // The recording is not here; it is not the name that is refused.
    CHECK(e.refused());
    CHECK(e.said().find("Nothing is handed out as") == std::string::npos);
}

TEST_CASE("desk: title and players are set, said in words, and taken back") {
    Evening e("desk_heading");
    e.play("heading \"Last Lantern\" \"A. Player\"");
    CHECK(e.s().draft.title == "Last Lantern");
    CHECK(e.s().draft.players == "A. Player");
    CHECK(e.s().done.back() == "heading: Last Lantern, A. Player");
    e.play("heading \"Last Lantern\" \"\"");
    CHECK(e.s().done.back() == "heading: Last Lantern");
    e.play("undo\nundo");
    CHECK(e.s().draft.title == "Lantern Street");
}

TEST_CASE("desk: a new loop lets go of a note outside it, and its first is the next") {
    Evening e("desk_loop_pick");
    e.play("loop-bars 3 4\npick-step 1");
    REQUIRE(e.s().picked());
    e.play("loop-bars 4 4");
    if (e.s().picked()) CHECK(e.s().play.loop->contains(e.s().picked()->note.onset));
    e.play("loop-bars 1 1\npick-step 1");
    REQUIRE(e.s().picked());
    CHECK(e.s().play.loop->contains(e.s().picked()->note.onset));
    const auto held = e.s().pick;
    e.play("loop-bars 1 2");  // it lies in this one, too
    CHECK(e.s().pick == held);
}

TEST_CASE("desk: a visit to the soloist's sheet is one step for the register, one for the stage") {
    Evening e("desk_visit");
    const std::size_t before = e.s().done.size();
    const Draft first = e.s().draft;
    e.play("ink-bars 1 1\nshow focus\nregister 41 80\nregister 42 80\nregister 43 80");
    REQUIRE(e.s().done.size() == before + 2);
    CHECK(e.s().done.back().find("register ") == 0);
    CHECK(e.s().done.back().find(" -> G2 to Ab5") != std::string::npos);
    e.play("stage 0.1 2\nstage 0.2 1.9\nstage 0.3 1.8");
    REQUIRE(e.s().done.size() == before + 3);
    CHECK(e.s().done.back() == "stage: all of it -> 90 % around right 30 %");
    // Another visit is another step; what was taken back by hand takes nothing else with it.
    e.play("show none\nshow focus\nstage 0.4 1.8\nstage 0.3 1.8\nstage 0.2 1.8");
    REQUIRE(e.s().done.size() == before + 4);
    CHECK(e.s().done.back() == "stage: 90 % around right 30 % -> 90 % around right 20 %");
    e.play("undo\nundo\nundo\nundo");
    CHECK(e.s().draft == first);
    CHECK(e.s().done.size() == before);
}
