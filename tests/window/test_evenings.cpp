// window: files that are dropped, opened again and missing; what is asked before anything is lost;
// keys of the player's own; where he was; the looped bars first.
#include <chrono>
#include <fstream>
#include <optional>
#include <set>
#include <thread>

#include <doctest/doctest.h>

#include "engine/draft/journal.h"
#include "evening.h"
#include "headless.h"
#include "tones.h"
#include "ui/window/gathered.h"
#include "ui/window/keymap.h"
#include "ui/window/remember.h"

using namespace bentline;
using namespace bentline::window;

namespace {

// What is dropped on the window, as the system's callback hands it over.
void drop(Desk& desk, const std::vector<fs::path>& files) {
    std::vector<std::string> names;
    for (const fs::path& file : files)
        names.push_back(file.string());
    std::vector<const char*> paths;
    for (const std::string& name : names)
        paths.push_back(name.c_str());
    Gathered gathered;
    gathered.drop(static_cast<int>(paths.size()), paths.data());
    const std::optional<Intent> asked = gathered.take_dropped();
    REQUIRE(asked);
    CHECK_FALSE(gathered.take_dropped());
    desk.apply(*asked);
    desk.wait_for_work();
}

void write_made(const fs::path& file, const std::string& title) {
    Draft draft = made_draft();
    draft.title = title;
    REQUIRE(save_draft(draft, file).ok());
}

}  // namespace

TEST_CASE("drop: a draft, a recording, several at once: one lies on the desk then") {
    Evening e("drop_good");
    write_made(e.folder / "other.bentline", "Low Water");
    REQUIRE(write_tones(e.folder / "tones.wav"));
    drop(e.desk, {e.folder / "other.bentline"});
    CHECK(e.s().draft.title == "Low Water");
    drop(e.desk, {e.folder / "tones.wav"});
    REQUIRE(e.s().heard.info);
    CHECK(e.s().heard.info->path == e.folder / "tones.wav");
    CHECK(e.s().draft_file.empty());
    // A draft knows its recording; what is neither is left alone.
    std::ofstream(e.folder / "words.txt") << "not a sound";
    drop(e.desk, {e.folder / "words.txt", e.folder / "tones.wav", e.folder / "other.bentline"});
    CHECK(e.s().draft.title == "Low Water");
    CHECK_FALSE(e.refused());
    drop(e.desk, {e.folder / "words.txt", e.folder / "tones.wav"});
    CHECK(e.s().heard.info);
}

TEST_CASE("drop: what cannot be opened is one sentence, and nothing that was there is lost") {
    Evening e("drop_bad");
    e.play("look-at 2 8\nloop 2 4\npick 3\nspeed 0.5");
    std::ofstream(e.folder / "empty.wav");
    std::ofstream(e.folder / "words.txt") << "not a sound";
    std::ofstream(e.folder / "half.bentline") << "{ \"notes\": [";
    std::ofstream(e.folder / "list.bentline") << "[1, 2, 3]";
    std::ofstream(e.folder / "noise.flac") << "fLaC and no more";
    const State before = e.s();
    for (const char* name : {"empty.wav", "words.txt", "half.bentline", "list.bentline",
                             "noise.flac", "never was.wav"}) {
        e.desk.apply(intents::Dismiss{});
        drop(e.desk, {e.folder / name});
        CHECK_MESSAGE(e.refused(), name);
        CHECK(e.said().find('\n') == std::string::npos);
        CHECK_MESSAGE(e.said().find(fs::path(name).stem().string()) != std::string::npos, e.said());
        CHECK(e.s().draft == before.draft);
        CHECK(e.s().draft_file == before.draft_file);
        CHECK(e.s().pick == before.pick);
        CHECK(e.s().play.speed == 0.5);
        REQUIRE(e.s().play.loop);
        CHECK(e.s().play.loop->from == before.play.loop->from);
        CHECK(e.s().look.from == before.look.from);
    }
}

TEST_CASE("guard: every way to another file asks first; a bad file loses nothing even then") {
    Evening e("guard_ways");
    write_made(e.folder / "other.bentline", "Low Water");
    std::ofstream(e.folder / "words.txt") << "not a sound";
    e.play("pick 1\nink");
    const Draft mine = e.s().draft;
    const auto stays = [&](const char* way) {
        CHECK_MESSAGE(e.s().overlay == Overlay::guard, way);
        e.play("unsaved stay");
        CHECK_MESSAGE(e.s().overlay == Overlay::none, way);
        CHECK_MESSAGE(e.s().draft == mine, way);
        CHECK_MESSAGE(e.s().unsaved, way);
        CHECK_FALSE(e.s().leaving);
    };
    e.desk.apply(intents::Leave{});
    stays("leave");
    e.desk.apply(intents::Open{(e.folder / "other.bentline").string()});
    stays("open");
    e.desk.apply(intents::OpenDemo{});
    stays("the demo");
    drop(e.desk, {e.folder / "other.bentline"});
    stays("drop");
    // The guard put away by Escape is the same as staying.
    e.desk.apply(intents::Leave{});
    e.play("show none");
    CHECK_FALSE(e.s().leaving);
    CHECK(e.s().unsaved);
    // Let go for a file that turns out to be none: the work is still there, unsaved and kept.
    drop(e.desk, {e.folder / "words.txt"});
    CHECK(e.s().overlay == Overlay::guard);
    e.play("unsaved drop\nwait");
    CHECK(e.refused());
    CHECK(e.s().draft == mine);
    CHECK(e.s().unsaved);
    CHECK(fs::exists(journal_path(e.folder / "made.bentline")));
    e.desk.apply(intents::Leave{});
    CHECK(e.s().overlay == Overlay::guard);
    e.play("unsaved stay");
    // Saved first, then the other file.
    drop(e.desk, {e.folder / "other.bentline"});
    e.play("unsaved save\nwait");
    CHECK(e.s().draft.title == "Low Water");
    CHECK(load_draft(e.folder / "made.bentline")->draft.notes[0].inked());
}

TEST_CASE("recent: the latest first, each once, twelve at most, kept for another evening") {
    Folder folder("recent");
    const fs::path memory = folder / "window.json";
    std::vector<std::string> files;
    for (int i = 0; i < 15; ++i) {
        files.push_back((folder.path() / ("take " + std::to_string(i) + ".bentline")).string());
        write_made(files.back(), "Take " + std::to_string(i));
    }
    {
        Desk desk({.sound = Sound::off, .remember = memory, .journal = false});
        const auto& recent = desk.state().remembered.recent;
        for (const std::string& file : files) {
            desk.apply(intents::Open{file});
            desk.wait_for_work();
        }
        REQUIRE(recent.size() == 12);
        CHECK(recent.front() == files[14]);
        CHECK(recent.back() == files[3]);
        desk.apply(intents::Open{files[5]});
        desk.wait_for_work();
        CHECK(recent.size() == 12);
        CHECK(recent.front() == files[5]);
        CHECK(std::count(recent.begin(), recent.end(), files[5]) == 1);
        // One that is gone says so in one sentence, and stays on the list: it may come back.
        fs::remove(files[9]);
        desk.apply(intents::Open{files[9]});
        desk.wait_for_work();
        REQUIRE(desk.state().notice);
        CHECK(desk.state().notice->failed);
        CHECK(desk.state().notice->sentence.find("take 9") != std::string::npos);
        CHECK(desk.state().draft.title == "Take 5");
        CHECK(std::count(recent.begin(), recent.end(), files[9]) == 1);
        CHECK(recent.front() == files[5]);
    }
    const Remembered again = read_remembered(memory);
    REQUIRE(again.recent.size() == 12);
    CHECK(again.recent.front() == files[5]);
}

TEST_CASE("keys: no two commands share one, and every one can be given another and comes back") {
    std::set<std::string> strokes;
    for (const Command& command : commands()) {
        CHECK_MESSAGE(strokes.insert(command.stroke).second, command.stroke);
        CHECK(command_of(command.stroke, {}) == &command);
    }
    Folder folder("keys");
    const fs::path memory = folder / "window.json";
    for (const Command& command : commands()) {
        {
            Desk desk({.sound = Sound::off, .remember = memory, .journal = false});
            desk.apply(intents::BindKey{"ctrl+alt+f12", command.name});
            desk.wait_for_work();
        }
        const auto keys = read_remembered(memory).keys;
        REQUIRE_MESSAGE(command_of("ctrl+alt+f12", keys) == &command, command.name);
        CHECK(command_of(command.stroke, keys) == nullptr);
        Desk desk({.sound = Sound::off, .remember = memory, .journal = false});
        desk.apply(intents::BindKey{command.stroke, command.name});
        desk.wait_for_work();
        CHECK(desk.state().remembered.keys.empty());
        CHECK(command_of(command.stroke, desk.state().remembered.keys) == &command);
    }
}

TEST_CASE("keys: a key that another command had is taken from it, and that is said") {
    Evening e("keys_clash");
    e.play("bind b vibrato");
    CHECK(e.said().find("vibrato") != std::string::npos);
    CHECK(e.said().find("no key now to bend") != std::string::npos);
    CHECK(stroke_of("bend-more", e.s().remembered.keys).empty());
    CHECK(std::string(command_of("b", e.s().remembered.keys)->name) == "vibrato");
    CHECK(command_of("v", e.s().remembered.keys) == nullptr);
    // It is given a key of its own again.
    e.play("bind v bend-more");
    CHECK(e.said().find("no key now") == std::string::npos);
    CHECK(std::string(command_of("v", e.s().remembered.keys)->name) == "bend-more");
    e.play("bind \"\" bend-more");
    CHECK(e.refused());
}

TEST_CASE("keys: typing chords and letters, and letting go, obey the player's own keys") {
    Evening e("keys_view");
    Headless screen;
    e.play("go 3\nbind f9 chord\nbind f10 section\nbind f11 let-go\nloop 2 4\npick 3");
    const auto press = [&](const char* stroke) {
        for (const Intent& intent : screen.stroke(e.s(), stroke))
            e.desk.apply(intent);
    };
    e.desk.apply(intents::Dismiss{});
    press("c");
    CHECK_FALSE(screen.scratch.chord_bar);
    press("f9");
    REQUIRE(screen.scratch.chord_bar);
    CHECK(*screen.scratch.chord_bar == e.s().draft.bars->position_at(e.s().play.at).bar);
    press("escape");  // inside the field it still ends typing
    CHECK_FALSE(screen.scratch.chord_bar);
    press("f10");
    CHECK(screen.scratch.section_bar);
    press("escape");
    CHECK_FALSE(screen.scratch.section_bar);
    REQUIRE(e.s().pick);
    press("f11");
    CHECK_FALSE(e.s().pick);
    REQUIRE(e.s().play.loop);
    press("f11");
    CHECK_FALSE(e.s().play.loop);
}

TEST_CASE("place: zoom, loop, speed, paper and size are as they were left") {
    Folder folder("place");
    REQUIRE(write_tones(folder / "tones.wav"));
    const fs::path memory = folder / "window.json";
    const std::string open = "open \"" + (folder / "tones.wav").string() + "\"\nwait\n";
    {
        Desk desk({.sound = Sound::off, .remember = memory, .journal = false});
        std::istringstream script(open +
                                  "loop 1.4 2.4\nlook-at 1 3\ngo 1.7\nspeed 0.6\n"
                                  "dark-paper yes\nscale 1.25\nmanuscript no\nleave\nwait\n");
        REQUIRE(play_session(desk, script).ok());
        CHECK(desk.state().leaving);
    }
    Desk desk({.sound = Sound::off, .remember = memory, .journal = false});
    CHECK(desk.state().remembered.dark);
    CHECK(desk.state().remembered.scale == 1.25);
    CHECK_FALSE(desk.state().remembered.manuscript);
    std::istringstream script(open);
    REQUIRE(play_session(desk, script).ok());
    const State& s = desk.state();
    REQUIRE(s.play.loop);
    CHECK(s.play.loop->from.value() == doctest::Approx(1.4));
    CHECK(s.play.loop->to.value() == doctest::Approx(2.4));
    CHECK(s.look.from.value() == doctest::Approx(1.0));
    CHECK(s.look.to.value() == doctest::Approx(3.0));
    CHECK(s.play.at.value() == doctest::Approx(1.7));
    CHECK(s.play.speed == doctest::Approx(0.6));
    // A memory that was written before speeds were kept is read as at the recorded speed.
    std::ofstream(memory) << R"({"places": {"/a.wav": [1, 2, 3, 0, 0]}})";
    REQUIRE(read_remembered(memory).places.count("/a.wav") == 1);
    CHECK(read_remembered(memory).places.at("/a.wav").speed == 1.0);
    std::ofstream(memory) << R"({"places": {"/a.wav": [1, 2, 3, 0, 0, -4]}})";
    CHECK(read_remembered(memory).places.empty());
}

TEST_CASE("pencil: the looped bars are there before the rest") {
    Folder folder("looped_first");
    const fs::path recording = folder / "tones.wav", memory = folder / "window.json";
    REQUIRE(write_tones(recording, 8));  // 32 s
    Remembered where;
    where.recent = {recording.string()};
    where.places[recording.string()] = {20.4, 20.0, 24.0, 20.4, 23.4};
    // On a busy machine the rest may come before the next look at the desk: then once more.
    std::optional<Desk> held;
    for (int i = 0; i < 10 && (!held || held->state().draft.notes.size() > 3); ++i) {
        REQUIRE(write_remembered(memory, where).ok());
        held.emplace(DeskSettings{.sound = Sound::off, .remember = memory, .journal = false});
        held->apply(intents::Open{recording.string()});
        while (held->state().draft.notes.empty()) {
            std::this_thread::sleep_for(std::chrono::milliseconds(1));
            held->tick();
        }
    }
    Desk& desk = *held;
    const State& s = desk.state();
    // C4, E4, G4 of the loop, and only those; the rest is still being followed.
    REQUIRE(s.play.loop);
    CHECK_FALSE(s.work.empty());
    CHECK(s.draft.notes.size() == 3);
    for (const DraftNote& note : s.draft.notes)
        CHECK(s.play.loop->contains(note.note.onset));
    CHECK(s.draft.notes[0].note.key == MidiKey(60));
    desk.wait_for_work();
    CHECK(s.draft.notes.size() == 24);
    CHECK_FALSE(s.unsaved);
}

TEST_CASE("recording: one that was moved is found again by opening it; another one is another") {
    Folder folder("moved");
    REQUIRE(write_tones(folder / "tones.wav"));
    const std::string draft = (folder / "tones.bentline").string();
    {
        Desk desk({.sound = Sound::off, .remember = {}, .journal = false});
        std::istringstream script("open \"" + (folder / "tones.wav").string() +
                                  "\"\nwait\npick-step 1\nink\nsave\nwait\n");
        REQUIRE(play_session(desk, script).ok());
    }
    fs::create_directory(folder / "elsewhere");
    fs::rename(folder / "tones.wav", folder / "elsewhere/same.wav");
    REQUIRE(write_tones(folder / "longer.wav", 2));
    Desk desk({.sound = Sound::off, .remember = {}, .journal = false});
    const State& s = desk.state();
    desk.apply(intents::Open{draft});
    desk.wait_for_work();
    CHECK_FALSE(s.heard.info);
    REQUIRE(s.notice);
    // Work goes on meanwhile, and finding the recording does not cost it.
    std::istringstream work("pick-step 2\nstep-pitch 1\n");
    REQUIRE(play_session(desk, work).ok());
    const NoteList mine = s.draft.notes;
    drop(desk, {folder / "elsewhere/same.wav"});
    REQUIRE(s.heard.info);
    CHECK(s.heard.line);
    CHECK(s.draft.notes == mine);
    CHECK(s.draft_file == draft);
    CHECK(s.unsaved);
    std::istringstream save("save\nwait\n");
    REQUIRE(play_session(desk, save).ok());
    CHECK(load_draft(draft)->found == RecordingFound::there);
    // Missing again, and what is opened is not the one: it is a recording of its own.
    fs::remove(folder / "elsewhere/same.wav");
    desk.apply(intents::Open{draft});
    desk.wait_for_work();
    CHECK_FALSE(s.heard.info);
    drop(desk, {folder / "longer.wav"});
    REQUIRE(s.heard.info);
    CHECK(s.draft_file.empty());
    CHECK(s.draft.notes.size() == 6);
}

TEST_CASE("save: another draft is replaced only when it is named twice; one's own at once") {
    Evening e("save_over");
    write_made(e.folder / "other.bentline", "Low Water");
    const std::string other = (e.folder / "other.bentline").string();
    e.play("pick 1\nink\nchoose save\nwait");
    e.desk.apply(intents::SaveAs{other});
    e.desk.wait_for_work();
    CHECK(e.refused());
    CHECK(e.said().find("other.bentline") != std::string::npos);
    CHECK(e.s().overlay == Overlay::chooser);
    CHECK(load_draft(other)->draft.title == "Low Water");
    // Another name in between is another question.
    e.desk.apply(intents::SaveAs{(e.folder / "new.bentline").string()});
    e.desk.wait_for_work();
    CHECK(fs::exists(e.folder / "new.bentline"));
    e.desk.apply(intents::SaveAs{other});
    e.desk.wait_for_work();
    CHECK(load_draft(other)->draft.title == "Low Water");
    e.desk.apply(intents::SaveAs{other});
    e.desk.wait_for_work();
    CHECK(load_draft(other)->draft.title == "Lantern Street");
    CHECK(e.s().draft_file == other);
    // Its own file now: at once.
    e.play("pick 2\nink");
    e.desk.apply(intents::SaveAs{other});
    e.desk.wait_for_work();
    CHECK(load_draft(other)->draft.notes[1].inked());
}
