// player core: commands, exactness, position under the ear, loops, count-in, trainer: without a
// device.
#include <algorithm>
#include <array>
#include <memory>

#include <doctest/doctest.h>

#include "engine/listening/player_core.h"
#include "tests/listening/signals.h"

using namespace bentline;
using namespace bentline::test;

namespace {

constexpr SampleRate cd{44100};
constexpr std::size_t block = 256;
// Limiter: 1.5 ms ahead (66 frames) and 6 of its filter.
constexpr std::int64_t limiter_delay = 72;
const float level = static_cast<float>(amplitude(first_level));

std::shared_ptr<const Audio> noise(std::size_t frames, std::int64_t start = 0) {
    Audio a = made(cd, 2, frames);
    a.start = Frames(start);
    add_noise(a.channels[0], 0.1, 11);
    add_noise(a.channels[1], 0.1, 12);
    return std::make_shared<const Audio>(std::move(a));
}

struct Heard {
    std::vector<float> left;
    std::vector<float> right;
    std::vector<PlayerStatus> status;  // after every block
};

void run(PlayerCore& core, std::size_t blocks, Heard& h) {
    for (std::size_t b = 0; b < blocks; ++b) {
        std::array<float, block> l{};
        std::array<float, block> r{};
        const std::array<float*, 2> out = {l.data(), r.data()};
        core.process(out, block);
        h.left.insert(h.left.end(), l.begin(), l.end());
        h.right.insert(h.right.end(), r.begin(), r.end());
        h.status.push_back(core.status());
    }
}

}  // namespace

TEST_CASE("player: at speed 1 it plays the recording exactly, quietly, after a short fade") {
    PlayerCore core(cd);
    const auto audio = noise(44100);
    REQUIRE(core.load(audio));
    REQUIRE(core.play());
    Heard h;
    run(core, 100, h);
    for (std::size_t i = 1024; i < h.left.size(); ++i) {
        const std::size_t at = i - limiter_delay;
        REQUIRE(h.left[i] == audio->channels[0][at] * level);
        REQUIRE(h.right[i] == audio->channels[1][at] * level);
    }
}

TEST_CASE("player: the place reported is the recording frame under the ear") {
    PlayerCore core(cd);
    const auto audio = noise(44100, 7000);
    REQUIRE(core.load(audio));
    core.set_output_latency(Frames(600));
    REQUIRE(core.seek(Frames(10000)));
    REQUIRE(core.play());
    Heard h;
    run(core, 60, h);
    // After block b, its first frame is asked for; what is heard left process() 600 frames ago and
    // entered the limiter 72 frames before that.
    for (std::size_t b = 10; b < 60; ++b) {
        CHECK(h.status[b].place.value() ==
              10000 + static_cast<std::int64_t>(b * block) - 600 - limiter_delay);
    }
}

TEST_CASE("player: a loop goes round without a gap, and its rounds are counted") {
    PlayerCore core(cd);
    const auto audio = noise(44100);
    REQUIRE(core.load(audio));
    REQUIRE(core.loop({Frames(5000), Frames(9000)}));
    REQUIRE(core.play());
    Heard h;
    run(core, 200, h);
    const std::size_t fade = 221;  // 5 ms, rounded
    for (std::size_t i = 1024; i < h.left.size(); ++i) {
        const std::size_t in = (i - limiter_delay) % 4000;
        if (in < 4000 - fade) REQUIRE(h.left[i] == audio->channels[0][5000 + in] * level);
    }
    CHECK(h.status.back().round == (199 * 256 - limiter_delay) / 4000);
}
