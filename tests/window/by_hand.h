// A desk whose sound is taken by hand, block by block: what a device would be given, with no
// device's clock in it, so that it is the same on every machine however busy.
#pragma once

#include <algorithm>
#include <array>
#include <sstream>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "evening.h"
#include "tones.h"

namespace bentline::window {

inline constexpr double rate = 44100.0;  // of the tones, and so of what is heard

// The tones on a desk (C4, E4, G4 at 0.5, 1.5 and 2.5 s of 4 s), listened to.
struct ByHand {
    Folder folder;
    Desk desk{{.sound = Sound::by_hand, .remember = {}, .journal = false}};
    std::vector<double> left, right;  // heard so far, full scale 1

    explicit ByHand(const char* name) : folder(name) {
        REQUIRE(write_tones(folder / "tones.wav"));
        desk.apply(intents::Open{(folder / "tones.wav").string()});
        desk.wait_for_work();
        REQUIRE(desk.state().draft.notes.size() == 3);
    }
    const State& s() const { return desk.state(); }
    void order(const std::string& script) {
        std::istringstream in(script);
        const Result<Done> played = play_session(desk, in);
        REQUIRE_MESSAGE(played.ok(), (played ? "" : played.failure().sentence));
    }
    // Listens on for so long; a frame of the window goes by with every block of 256.
    void listen(double seconds) {
        std::array<float, 256> l{}, r{};
        auto count = static_cast<std::size_t>(seconds * rate);
        for (std::size_t block = 0; count > 0; count -= block) {
            block = std::min(count, l.size());
            desk.pull(std::span(l).first(block), std::span(r).first(block));
            left.insert(left.end(), l.begin(), l.begin() + static_cast<std::ptrdiff_t>(block));
            right.insert(right.end(), r.begin(), r.begin() + static_cast<std::ptrdiff_t>(block));
            desk.tick();
        }
    }
};

}  // namespace bentline::window
