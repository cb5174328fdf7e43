// A sound device for tests: ALSA's file device, which writes what it is given into a file.
#pragma once

#include <chrono>
#include <cstdlib>
#include <fstream>
#include <functional>
#include <string>
#include <thread>

#include <doctest/doctest.h>

#include "evening.h"
#include "tones.h"

namespace bentline::window {

// Waits for what should come soon: so long only because a busy machine may hold it up.
inline bool tick_until(Desk& desk, const std::function<bool()>& what) {
    const auto until = std::chrono::steady_clock::now() + std::chrono::seconds(40);
    while (!what()) {
        if (std::chrono::steady_clock::now() > until) return false;
        std::this_thread::sleep_for(std::chrono::milliseconds(4));
        desk.tick();
    }
    return true;
}

// A device of ALSA's that writes what it is given into a file.
inline void make_device(const Folder& folder, const char* name, const fs::path& into) {
    std::ofstream(folder / "asound.conf")
        << "</usr/share/alsa/alsa.conf>\n"
        << "pcm." << name << " { type plug slave { format S16_LE rate 44100 channels 2 pcm {\n"
        << "  type file format raw file \"" << into.string() << "\" slave.pcm null } } }\n";
    setenv("ALSA_CONFIG_PATH", (folder / "asound.conf").c_str(), 1);
    setenv("JACK_NO_START_SERVER", "1", 1);
}

// Puts the tones with their notes on the desk and chooses the device; false where this machine's
// PortAudio does not list it.
inline bool ready(Desk& desk, const Folder& folder, const std::string& device) {
    desk.apply(intents::Open{(folder / "tones.wav").string()});
    desk.wait_for_work();
    REQUIRE(desk.state().draft.notes.size() == 3);
    desk.apply(intents::Show{Overlay::practice});
    std::string name;
    for (const std::string& one : desk.state().play.devices) {
        if (one.find(device) != std::string::npos) name = one;
    }
    desk.apply(intents::Show{Overlay::none});
    if (name.empty()) {
        MESSAGE("skipped: this machine's PortAudio lists no ALSA devices");
        return false;
    }
    desk.apply(intents::ChooseDevice{name});
    return true;
}

}  // namespace bentline::window
