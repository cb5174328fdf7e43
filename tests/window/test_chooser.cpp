// window: the file chooser's logic.
#include <algorithm>
#include <filesystem>
#include <fstream>
#include <string>

#include <doctest/doctest.h>

#include "made_draft.h"
#include "tests/support/folder.h"
#include "tones.h"
#include "ui/window/chooser.h"

using namespace bentline;
using namespace bentline::window;
namespace fs = std::filesystem;

namespace {

// Two takes, a draft, words, and what is hidden.
struct Takes {
    testing::Folder folder{"chooser"};
    Takes() {
        fs::create_directories(folder / "takes");
        fs::create_directories(folder / ".hidden");
        for (const char* name : {"b.FLAC", "A.wav", "notes.txt", "solo.bentline", ".x.wav"}) {
            std::ofstream(folder / name) << "1234";
        }
    }
    const fs::path& path() const { return folder.path(); }
};

std::string names(const Chooser& chooser, std::string_view typed) {
    std::string all;
    for (const std::size_t i : matching(chooser, typed))
        all += chooser.entries[i].name + " ";
    return all;
}

}  // namespace

TEST_CASE("chooser: folders first, then files by name, hidden ones left out") {
    const Takes folder;
    const auto entries = list_folder(folder.path());
    REQUIRE(entries.ok());
    REQUIRE(entries->size() == 5);
    CHECK((*entries)[0] == Entry{"takes", EntryKind::folder, 0});
    CHECK((*entries)[1] == Entry{"A.wav", EntryKind::recording, 4});
    CHECK((*entries)[2] == Entry{"b.FLAC", EntryKind::recording, 4});
    CHECK((*entries)[4] == Entry{"solo.bentline", EntryKind::draft, 4});
}

TEST_CASE("chooser: shows what serves the purpose and fits what is typed") {
    const Takes folder;
    Chooser chooser{Purpose::open, folder.path(), *list_folder(folder.path()), "", "", {}, {}};
    CHECK(names(chooser, "") == "takes A.wav b.FLAC solo.bentline ");
    CHECK(names(chooser, "FLA") == "b.FLAC ");
    chooser.purpose = Purpose::save;
    CHECK(names(chooser, "new name") == "takes solo.bentline ");
    chooser.purpose = Purpose::midi;
    CHECK(names(chooser, "") == "takes ");
}

TEST_CASE("chooser: what a typed name means") {
    Chooser chooser{Purpose::save, "/music", {}, "", "", {}, {}};
    CHECK(meant_file(chooser, "solo") == "/music/solo.bentline");
    CHECK(meant_file(chooser, "solo.bentline") == "/music/solo.bentline");
    CHECK(meant_file(chooser, "../solo") == "/solo.bentline");
    CHECK(meant_file(chooser, "/other/x.BENTLINE") == "/other/x.BENTLINE");
    chooser.purpose = Purpose::midi;
    CHECK(meant_file(chooser, "a.b") == "/music/a.b.mid");
    // A folder's name may have dots in it.
    chooser.purpose = Purpose::clips;
    CHECK(meant_file(chooser, "take.07") == "/music/take.07/");
    chooser.purpose = Purpose::lesson;
    CHECK(meant_file(chooser, "solo") == "/music/solo.html");
    chooser.purpose = Purpose::open;
    CHECK(meant_file(chooser, "x.wav") == "/music/x.wav");
}

TEST_CASE("chooser: a folder that is not there is one sentence") {
    const auto entries = list_folder("/nowhere/at/all");
    REQUIRE_FALSE(entries.ok());
    CHECK(entries.failure().kind == FailureKind::not_found);
    CHECK(entries.failure().sentence.find("/nowhere/at/all") != std::string::npos);
}

TEST_CASE("chooser: tells about a draft and a recording before they are opened") {
    const Takes folder;
    REQUIRE(write_tones(folder.path() / "tones.wav"));
    const Preview sound = look_at_file(folder.path() / "tones.wav");
    REQUIRE(sound.lines.size() == 3);
    CHECK(sound.lines[0] == "0:04 long");
    CHECK(sound.lines[2] == "44100 Hz, mono");
    REQUIRE(save_draft(made_draft(), folder.path() / "made.bentline").ok());
    const Preview draft = look_at_file(folder.path() / "made.bentline");
    const auto has = [&](const char* line) {
        return std::find(draft.lines.begin(), draft.lines.end(), line) != draft.lines.end();
    };
    CHECK(has("Lantern Street"));
    CHECK(has("0 of 128 notes inked"));
    CHECK(has("32 bars in 4/4"));
    const Preview gone = look_at_file(folder.path() / "gone.wav");
    REQUIRE(gone.lines.size() == 1);
    CHECK(gone.lines[0].find("gone.wav") != std::string::npos);
}
