// window: actions, driven by intents and session scripts, without a window.
#include <cmath>
#include <filesystem>
#include <fstream>
#include <sstream>

#include <doctest/doctest.h>

#include "evening.h"
#include "made_draft.h"
#include "tones.h"
#include "ui/window/desk.h"
#include "ui/window/keymap.h"
#include "ui/window/remember.h"

using namespace bentline;
using namespace bentline::window;

TEST_CASE("desk: an opened draft is shown with its notes, and says that its recording is missing") {
    Folder folder("desk_missing");
    Draft draft = made_draft();
    draft.recording.path = (folder / "gone.flac").string();
    REQUIRE(save_draft(draft, folder / "made.bentline").ok());
    Desk desk({.sound = Sound::off, .remember = {}});
    desk.apply(intents::Open{(folder / "made.bentline").string()});
    desk.wait_for_work();
    CHECK(desk.state().open);
    CHECK(desk.state().draft.notes.size() == 128);
    CHECK_FALSE(desk.state().unsaved);
    REQUIRE(desk.state().notice);
    CHECK(desk.state().notice->sentence.find("gone.flac") != std::string::npos);
}

TEST_CASE("desk: without its recording a draft is worked on up to its last note, and not beyond") {
    Evening e("desk_ends");
    const std::size_t last = e.s().draft.notes.size() - 1;
    e.play("pick 128\n");
    CHECK(e.s().look.contains(e.note(last).onset));
    CHECK(e.s().play.at == e.note(last).onset);
    const Draft before = e.s().draft;
    for (const char* line : {"add 40000 40001 60", "add -3 -2 60", "move both 90000",
                             "place 64 80000", "bar-one 70000", "drag-beat 4 90000"}) {
        e.play(line);
        CHECK_MESSAGE(e.refused(), line);
    }
    CHECK(e.s().draft == before);
}

TEST_CASE("desk: bad input is one sentence, and what was on the desk stays") {
    Evening e("desk_bad");
    std::ofstream(e.folder / "broken.bentline") << "{ \"half";
    std::ofstream(e.folder / "noise.wav") << "not a sound";
    for (const char* file : {"broken.bentline", "noise.wav", "nowhere.wav"}) {
        e.desk.apply(intents::Open{(e.folder / file).string()});
        e.desk.wait_for_work();
        CHECK(e.refused());
        CHECK(e.said().find('\n') == std::string::npos);
        CHECK(e.s().draft.notes.size() == 128);
        CHECK(e.s().draft.title == "Lantern Street");
    }
    for (const char* line : {"pick 9999", "ink-bars 9 3", "tempo 0", "metre 5/3", "key H",
                             "form ()", "register 50 40", "stage 3 0", "back-to 77", "bind q dance",
                             "turn wobble", "save-as \"/nowhere/x.bentline\""}) {
        e.desk.apply(intents::Dismiss{});
        e.play(line);
        e.desk.wait_for_work();
        CHECK_MESSAGE(e.refused(), line);
        CHECK(e.s().draft == made_draft());
    }
}

TEST_CASE("desk: ink, discard, move, retune, split, join, add; each undone to the same draft") {
    Evening e("desk_notes");
    const Draft before = e.s().draft;
    const auto undone = [&](const char* script) {
        e.play(script);
        CHECK_MESSAGE(!(e.s().draft == before), script);
        CHECK(e.s().unsaved);
        while (!e.s().done.empty())
            e.desk.apply(intents::Undo{});
        CHECK_MESSAGE(e.s().draft == before, script);
        CHECK_FALSE(e.s().unsaved);
    };
    undone("pick 3\nink");
    undone("pick 3\ndiscard");
    undone("pick 3\nmove both 0.05");
    undone("pick 3\nmove start -0.05\nmove end 0.02");
    undone("pick 3\nstep-pitch 2");
    undone("pick 3\nsplit 2.2");
    undone("pick 3\njoin-next");
    undone("pick 3\ndiscard\nadd 2.0 2.3 66");
    undone("ink-bars 1 8");
    undone("ink-confident");
    undone("chord 3 1 \"G7\"\nform \"A12\"\nkey \"F\"\nmetre \"3/4\"\ntempo 96\nbar-one 2.5");
    undone("register 45 80\nstage -0.3 0.5");
}

TEST_CASE("desk: what edits do, in the draft") {
    Evening e("desk_what");
    e.play("pick 3\nstep-pitch -1\nmove both 0.05");
    CHECK(e.note(2).key.value() == made_notes()[2].key.value() - 1);
    CHECK(e.note(2).onset.value() == doctest::Approx(2.05));
    e.play("pick 3\nink-on");
    CHECK(e.s().draft.notes[2].inked());
    CHECK(e.s().pick == NoteId{4});  // on to the next pencilled one
    e.play("ink-bars 2 2");
    for (std::size_t i = 4; i < 8; ++i)
        CHECK(e.s().draft.notes[i].inked());
    e.play("ink-on\nink-on");  // note 4, then past the inked bar
    CHECK(e.s().pick == NoteId{10});
    e.play("back-to 0\nthreshold 0.8\nink-confident");
    std::size_t inked = 0;
    for (const DraftNote& n : e.s().draft.notes)
        inked += n.inked() ? 1 : 0;
    CHECK(inked == 128 - 12);  // every tenth of 128 notes has 0.5
}

TEST_CASE("desk: inflections are set, grown by quarter tones, and taken away") {
    Evening e("desk_inflections");
    e.play("pick 1\nstep-bend 1");
    REQUIRE(find<Bend>(e.note(0)) != nullptr);
    CHECK(find<Bend>(e.note(0))->size.value() == 50.0);
    e.play("step-bend 1\nturn-release");
    CHECK(find<Bend>(e.note(0))->size.value() == 100.0);
    CHECK(find<Bend>(e.note(0))->release);
    e.play("step-bend -2");
    CHECK(find<Bend>(e.note(0)) == nullptr);
    // The measured 98 c of note 4 goes to a whole number of quarter tones and keeps where it lies.
    const auto peak = find<Bend>(e.note(3))->peak;
    e.play("pick 4\nstep-bend 1");
    CHECK(find<Bend>(e.note(3))->size.value() == 150.0);
    CHECK(find<Bend>(e.note(3))->peak == peak);
    e.play(
        "pick 1\nslide-in -2\nslide-out -3\nvibrato 5.2 28\ntrill 1\nstaccato yes\naccent "
        "yes\nslide-on yes");
    CHECK(find<SlideIn>(e.note(0))->from == MidiKey(61));
    CHECK(find<SlideOut>(e.note(0))->to == MidiKey(60));
    CHECK(find<Vibrato>(e.note(0))->depth.value() == 28.0);
    CHECK(find<Trill>(e.note(0))->semitones == 1);
    CHECK(find<Staccato>(e.note(0)) != nullptr);
    CHECK(find<Accent>(e.note(0)) != nullptr);
    CHECK(find<SlideToNext>(e.note(0)) != nullptr);
    e.play("slide-in 0\nslide-out 0\nvibrato 0 0\ntrill 0\nstaccato no\naccent no\nslide-on no");
    CHECK(e.note(0).inflections.empty());
    for (const char* kind : {"slide_in", "slide_out", "slide_to_next", "bend", "vibrato", "trill",
                             "staccato", "accent"}) {
        e.play(std::string("turn ") + kind);
        CHECK(e.note(0).inflections.size() == 1);
        e.play(std::string("turn ") + kind);
        CHECK(e.note(0).inflections.empty());
    }
}

TEST_CASE("desk: tapped beats place the bars [straight line through the taps]") {
    Evening e("desk_taps");
    // 150 beats a minute: a beat each 0.4 s, the first at 3.0.
    e.play("tap 3.0\ntap 3.4\ntap 3.8\ntap 4.2\ntap 4.6");
    REQUIRE(e.s().draft.bars);
    CHECK(e.s().draft.bars->tempo_at(Beats(0)).value() == doctest::Approx(150.0).epsilon(1e-6));
    // Bar 1 stays on the tapped beat nearest to where it was, 1.0 s.
    CHECK(e.s().draft.bars->time_of(Beats(0)).value() == doctest::Approx(1.0));
    e.play("bar-one 3.0");
    CHECK(e.s().draft.bars->time_of(Beats(0)).value() == doctest::Approx(3.0));
    CHECK(e.s().draft.bars->tempo_at(Beats(0)).value() == doctest::Approx(150.0).epsilon(1e-6));
}

TEST_CASE("desk: unsaved changes are asked about before they could be lost") {
    Evening e("desk_guard");
    e.play("pick 1\nink\nleave");
    CHECK_FALSE(e.s().leaving);
    CHECK(e.s().overlay == Overlay::guard);
    e.play("unsaved stay");
    CHECK(e.s().overlay == Overlay::none);
    CHECK_FALSE(e.s().leaving);
    e.play("open \"" + (e.folder / "made.bentline").string() + "\"");
    CHECK(e.s().overlay == Overlay::guard);
    e.play("show none\nleave\nunsaved save\nwait");
    CHECK(e.s().leaving);
    const auto saved = load_draft(e.folder / "made.bentline");
    REQUIRE(saved.ok());
    CHECK(saved->draft.notes[0].inked());
    Evening other("desk_guard_drop");
    other.play("pick 1\nink\nleave\nunsaved drop");
    CHECK(other.s().leaving);
    CHECK_FALSE(load_draft(other.folder / "made.bentline")->draft.notes[0].inked());
}

TEST_CASE("desk: a draft is saved under a name and opened again with everything in it") {
    Evening e("desk_save");
    e.play("pick 1\nink\npick 2\nstep-bend 2\nsave-as \"" + (e.folder / "other.bentline").string() +
           "\"\nwait");
    CHECK_FALSE(e.s().unsaved);
    const Draft saved = e.s().draft;
    e.play("open \"" + (e.folder / "made.bentline").string() + "\"\nwait");
    CHECK_FALSE(e.s().draft.notes[0].inked());
    e.play("open \"" + (e.folder / "other.bentline").string() + "\"\nwait");
    CHECK(e.s().draft.notes == saved.notes);
}

TEST_CASE(
    "desk: MIDI is handed out for inked notes only, and begins as the standard says [SMF 1.0: "
    "MThd, length 6, format 1]") {
    Evening e("desk_midi");
    const std::string file = (e.folder / "out.mid").string();
    e.play("midi \"" + file + "\" no no\nwait");
    CHECK(e.refused());  // nothing is inked
    CHECK_FALSE(fs::exists(file));
    e.play("ink-bars 1 4\nmidi \"" + file + "\" no no\nwait");
    CHECK(e.said().find("16 notes") != std::string::npos);
    std::ifstream in(file, std::ios::binary);
    std::string head(10, '\0');
    in.read(head.data(), 10);
    CHECK(head == std::string("MThd\0\0\0\6\0\1", 10));
}

TEST_CASE("desk: keys can be changed, and what is remembered comes back") {
    Folder folder("desk_remember");
    const fs::path file = folder / "window.json";
    {
        Desk desk({.sound = Sound::off, .remember = file});
        desk.apply(intents::BindKey{"q", "ink-on"});
        desk.apply(intents::SetPaper{true});
        desk.apply(intents::SetScale{1.5});
        desk.apply(intents::SetLevel{Decibels(-24)});
        desk.wait_for_work();
    }
    const Remembered back = read_remembered(file);
    CHECK(back.keys.at("q") == "ink-on");
    CHECK(back.dark);
    CHECK(back.scale == 1.5);
    CHECK(back.level_db == -24.0);
    std::ofstream(file) << "[1, 2";
    CHECK(read_remembered(file) == Remembered{});
    std::ofstream(file) << R"({"scale": "wide", "level_db": 40, "dark": true})";
    CHECK(read_remembered(file).scale == 1.0);
    CHECK(read_remembered(file).level_db == -18.0);
    CHECK(read_remembered(file).dark);
    // A loud evening is not where the next one begins: at most -12 dB at the start.
    std::ofstream(file) << R"({"level_db": -1})";
    CHECK(Desk({.sound = Sound::off, .remember = file}).state().play.level == Decibels(-12));
}

TEST_CASE("desk: a chorus of 200 notes with a tenth wrong takes at most 1.6 key presses a note") {
    Evening e("desk_presses", 50);
    REQUIRE(e.s().draft.notes.size() == 200);
    int presses = 0;
    const auto press = [&](const char* stroke) {
        const auto intent = intent_of(stroke, e.s());
        REQUIRE(intent);
        e.desk.apply(*intent);
        ++presses;
    };
    press("right");
    for (int i = 0; i < 200; ++i) {
        REQUIRE(e.s().pick);
        const std::uint32_t before = e.s().pick->value;
        // Mistakes in turn: wrong by a semitone, by three, a missed bend, a note too many, a late
        // start.
        if (i % 10 == 4) {
            switch ((i / 10) % 5) {
                case 0:
                    press("up");
                    break;
                case 1:
                    press("down");
                    press("down");
                    press("down");
                    break;
                case 2:
                    press("b");
                    press("b");
                    break;
                case 3:
                    press("backspace");
                    CHECK(e.s().draft.notes.find(NoteId{before}) == nullptr);
                    continue;
                default:
                    press("shift+left");
                    press("shift+left");
                    press("alt+left");
                    break;
            }
        }
        press("enter");
    }
    for (const DraftNote& n : e.s().draft.notes)
        CHECK(n.inked());
    CHECK(e.s().draft.notes.size() == 196);
    MESSAGE("key presses a note: ", presses / 200.0);
    CHECK(presses <= 320);
}

TEST_CASE(
    "desk: a recording is opened, followed, looped, measured, inked, saved, handed out and opened "
    "again") {
    Folder folder("desk_recording");
    REQUIRE(write_tones(folder / "tones.wav"));
    Desk desk({.sound = Sound::off, .remember = {}});
    std::istringstream script(
        "# an evening\n"
        "open \"" +
        (folder / "tones.wav").string() +
        "\"\n"
        "wait\n"
        "speed 0.5\n"
        "loop 0.4 1.4\n"
        "measure 0.6 1.0\n");
    REQUIRE(play_session(desk, script).ok());
    const State& s = desk.state();
    REQUIRE(s.heard.info);
    CHECK(s.heard.info->duration().value() == doctest::Approx(4.0));
    REQUIRE(s.heard.overview);
    REQUIRE(s.heard.line);
    REQUIRE(s.heard.stage);
    // The tones are C4, E4, G4, steady: the middle of the first is C4 within 3 cents.
    REQUIRE(s.measured);
    REQUIRE(s.measured->first);
    CHECK(std::abs((*s.measured->first - Pitch(60.0)).value()) < 3.0);
    REQUIRE(s.draft.notes.size() == 3);
    CHECK(s.draft.notes[0].note.key == MidiKey(60));
    CHECK(s.draft.notes[1].note.key == MidiKey(64));
    CHECK(s.draft.notes[2].note.key == MidiKey(67));
    CHECK_FALSE(s.unsaved);
    std::istringstream rest(
        "pick 1\nink-on\nink-on\nink\n"
        "pencil-again\nwait\n"
        "save\nwait\n"
        "midi \"" +
        (folder / "tones.mid").string() + "\" no no\nwait\n");
    REQUIRE(play_session(desk, rest).ok());
    CHECK(s.draft.notes.size() == 3);
    CHECK(s.draft.notes[0].inked());  // pencilling again leaves inked notes as they are
    CHECK(fs::exists(folder / "tones.mid"));
    REQUIRE(fs::exists(folder / "tones.bentline"));
    Desk next({.sound = Sound::off, .remember = {}});
    next.apply(intents::Open{(folder / "tones.bentline").string()});
    next.wait_for_work();
    CHECK(next.state().draft.notes == s.draft.notes);
    REQUIRE(next.state().heard.line);
}

TEST_CASE("desk: work can be stopped, and a script says which line is wrong") {
    Folder folder("desk_stop");
    REQUIRE(write_tones(folder / "tones.wav"));
    Desk desk({.sound = Sound::off, .remember = {}});
    desk.apply(intents::Open{(folder / "tones.wav").string()});
    desk.apply(intents::StopWork{});
    desk.wait_for_work();
    CHECK_FALSE(desk.state().open);
    std::istringstream script("show keys\n\n# nothing\nshow everything\n");
    const Result<Done> played = play_session(desk, script);
    REQUIRE_FALSE(played.ok());
    CHECK(played.failure().sentence.find("line 4") != std::string::npos);
    CHECK(desk.state().overlay == Overlay::keys);
}
