// A desk with the made draft on it, driven by session lines.
#pragma once

#include <filesystem>
#include <sstream>
#include <string>

#include <doctest/doctest.h>

#include "made_draft.h"
#include "tests/support/folder.h"
#include "ui/window/desk.h"

namespace bentline::window {

namespace fs = std::filesystem;

using testing::Folder;

// A desk with the made draft on it, opened from a file.
struct Evening {
    Folder folder;
    Desk desk{{.sound = Sound::off, .remember = {}}};
    explicit Evening(const char* name, int bars = made_bars) : folder(name) {
        REQUIRE(save_draft(made_draft(bars), folder / "made.bentline").ok());
        desk.apply(intents::Open{(folder / "made.bentline").string()});
        desk.wait_for_work();
        REQUIRE(desk.state().open);
        desk.apply(intents::Dismiss{});
    }
    const State& s() const { return desk.state(); }
    const Note& note(std::size_t i) const { return s().draft.notes[i].note; }
    void play(const std::string& script) {
        std::istringstream in(script);
        const Result<Done> played = play_session(desk, in);
        REQUIRE_MESSAGE(played.ok(), (played ? "" : played.failure().sentence));
    }
    std::string said() const { return s().notice ? s().notice->sentence : ""; }
    bool refused() const { return s().notice && s().notice->failed; }
};

}  // namespace bentline::window
