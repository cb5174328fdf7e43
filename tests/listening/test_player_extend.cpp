// player core: a recording that is played while it is still being read.
#include <cmath>
#include <memory>

#include <doctest/doctest.h>

#include "engine/listening/player_core.h"
#include "tests/listening/heard.h"
#include "tests/listening/signals.h"

using namespace bentline;
using namespace bentline::test;

namespace {

constexpr SampleRate cd{44100};

// Two seconds of noise under a tone.
std::shared_ptr<const Audio> recording() {
    Audio a = made(cd, 2, 88200);
    for (auto& c : a.channels) {
        add_tone(c, cd, 330.0, 0.1);
        add_noise(c, 0.05, 11);
    }
    return std::make_shared<const Audio>(std::move(a));
}

// What is heard from frame 5,000 on when `first` of the frames are there at the beginning, and all
// of them after `later` blocks.
Heard heard_in_parts(std::size_t first, std::size_t later, double speed, std::size_t blocks) {
    PlayerCore core(cd);
    const auto whole = recording();
    const auto part = std::make_shared<const Audio>(part_of(*whole, 4000, first));
    REQUIRE(core.load(first == 88200 ? whole : part));
    core.speed(speed);
    core.seek(Frames(5000));
    core.play();
    Heard h;
    run(core, later, h);
    if (first != 88200) REQUIRE(core.extend(whole));
    run(core, blocks - later, h);
    return h;
}

}  // namespace

TEST_CASE(
    "extend: what is heard is the same, sample for sample, as with the whole from the start") {
    for (const double speed : {1.0, 0.5, 1.3}) {
        const Heard whole = heard_in_parts(88200, 40, speed, 200);
        const Heard parts = heard_in_parts(70000, 40, speed, 200);
        CHECK(parts.left == whole.left);
        CHECK(parts.right == whole.right);
        CHECK(parts.status.back().playing);
        CHECK(parts.status.back().place == whole.status.back().place);
    }
}

TEST_CASE("extend: just before the part's end, at the recorded speed, no sample is lost") {
    // Frame 5,000 + 60 blocks of 256 is 20,360, which lies 140 frames before the part's end.
    const Heard whole = heard_in_parts(88200, 60, 1.0, 120);
    const Heard parts = heard_in_parts(20500, 60, 1.0, 120);
    CHECK(parts.left == whole.left);
    CHECK(parts.status.back().playing);
}

TEST_CASE("extend: just before the part's end, slowed, nothing clicks") {
    // 5,000 + 110 blocks of 256 at half speed is 19,080 of 20,500: read ahead beyond the end.
    const Heard parts = heard_in_parts(20500, 110, 0.5, 240);
    const Heard whole = heard_in_parts(88200, 110, 0.5, 240);
    CHECK(parts.status.back().playing);
    const auto steepest = [](const Heard& h) {
        float most = 0.0F;
        for (std::size_t i = 4000; i < h.left.size(); ++i)
            most = std::max(most, std::abs(h.left[i] - h.left[i - 1]));
        return most;
    };
    // A click would be a step; noise made anew has none steeper than its like, by half as much.
    CHECK(steepest(parts) < 1.5F * steepest(whole));
    double power = 0.0, like = 0.0;
    for (std::size_t i = 50000; i < parts.left.size(); ++i) {
        power += parts.left[i] * parts.left[i];
        like += whole.left[i] * whole.left[i];
    }
    CHECK(std::abs(10.0 * std::log10(power / like)) < 1.0);
}

TEST_CASE("extend: the loop goes on, and places beyond the first part can be looped and sought") {
    PlayerCore core(cd);
    const auto whole = recording();
    REQUIRE(core.load(std::make_shared<const Audio>(part_of(*whole, 0, 30000))));
    core.loop({Frames(10000), Frames(12000)});
    core.play();
    Heard h;
    run(core, 40, h);
    const std::int64_t rounds = h.status.back().round;
    CHECK(rounds > 0);
    REQUIRE(core.extend(whole));
    run(core, 40, h);
    CHECK(h.status.back().round > rounds);
    REQUIRE(h.status.back().loop);
    CHECK(h.status.back().loop->from == Frames(10000));
    core.loop({Frames(60000), Frames(70000)});
    run(core, 40, h);
    REQUIRE(h.status.back().loop);
    CHECK(h.status.back().loop->from == Frames(60000));
    CHECK(h.status.back().place >= Frames(60000));
    core.loop_off();
    core.seek(Frames(80000));
    run(core, 10, h);
    CHECK(h.status.back().place > Frames(79000));
}
