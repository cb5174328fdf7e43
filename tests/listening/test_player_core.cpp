// player core: commands, exactness, position under the ear, loops, count-in, trainer: without a
// device.
#include <algorithm>
#include <array>
#include <cmath>
#include <memory>
#include <numbers>
#include <vector>

#include <doctest/doctest.h>

#include "engine/listening/player_core.h"
#include "engine/listening/recording_line.h"
#include "engine/listening/stretcher.h"
#include "tests/listening/heard.h"
#include "tests/listening/loop_music.h"
#include "tests/listening/signals.h"

using namespace bentline;
using namespace bentline::test;

namespace {

constexpr SampleRate cd{44100};
constexpr std::size_t block = heard_block;
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

TEST_CASE("player: a loop shorter than the analysis window sounds on, steady, at any speed") {
    // Ten periods of 441 Hz (1000 frames, the window is 3528): looped it is an endless tone, at
    // every speed. Its level must stand: 0.2 / sqrt 2 at the level set, within 0.5 dB over any 50
    // ms.
    PlayerCore core(cd);
    Audio tone = made(cd, 2, 44100);
    for (auto& c : tone.channels)
        add_tone(c, cd, 441.0, 0.2);
    REQUIRE(core.load(std::make_shared<const Audio>(std::move(tone))));
    REQUIRE(core.loop({Frames(10000), Frames(11000)}));
    REQUIRE(core.play());
    for (const double speed : {1.0, 0.5, 0.25}) {
        REQUIRE(core.speed(speed));
        Heard h;
        run(core, 40, h);  // the change is over
        h = {};
        run(core, 200, h);
        const double wanted = 0.2 / std::numbers::sqrt2 * level;
        for (std::size_t at = 0; at + 2205 <= h.left.size(); at += 2205) {
            double square = 0.0;
            for (std::size_t i = at; i < at + 2205; ++i)
                square += static_cast<double>(h.left[i]) * h.left[i];
            CAPTURE(speed);
            CHECK(std::abs(20.0 * std::log10(std::sqrt(square / 2205) / wanted)) < 0.5);
        }
        const double hz = measured_hz(h.left, cd, 441.0, 2000, 40000);
        CHECK(std::abs(1200.0 * std::log2(hz / 441.0)) < 0.1);
    }
}

namespace {

double correlation(const std::vector<float>& x, std::size_t at, const std::vector<float>& y,
                   std::size_t other, std::size_t count) {
    double xy = 0.0;
    double xx = 1e-12;
    double yy = 1e-12;
    for (std::size_t i = 0; i < count; ++i) {
        xy += static_cast<double>(x[at + i]) * y[other + i];
        xx += static_cast<double>(x[at + i]) * x[at + i];
        yy += static_cast<double>(y[other + i]) * y[other + i];
    }
    return xy / std::sqrt(xx * yy);
}

}  // namespace

TEST_CASE("player: every round of a loop at half speed sounds like the one before, seam and all") {
    PlayerCore core(cd);
    REQUIRE(core.load(std::make_shared<const Audio>(loop_music())));
    REQUIRE(core.loop({Frames(22050), Frames(22050 + 44100)}));
    REQUIRE(core.speed(0.5));
    REQUIRE(core.play());
    Heard h;
    run(core, 44100 * 60 / block, h);  // thirty rounds of two seconds as heard
    const std::size_t round = 88200;
    // Identical sound gives 1; a seam 0.1 ms out of place would leave 0.97 of the 1800 Hz clicks.
    for (std::size_t seam = 2 * round; seam + round + 4410 < h.left.size(); seam += round) {
        CHECK(correlation(h.left, seam - 4410, h.left, seam - 4410 + round, 8820) > 0.99);
    }
    CHECK(h.status.back().round == 29);
}

TEST_CASE("player: after an hour of looping the seam lies where it lay at first, to the frame") {
    // The line of a loop is the loop unrolled: rendered from just before round 1 and from just
    // before the round an hour later, at half speed, the same comes out, bit for bit.
    const auto audio = std::make_shared<const Audio>(loop_music());
    RecordingLine line(audio);
    line.lead(0, 22050, FramesRange{Frames(22050), Frames(22050 + 44100)});
    const auto rendered = [&](std::int64_t from) {
        Stretcher s(cd, 2);
        s.set_speed(0.5);
        s.start(Frames(from));
        std::vector<float> l(44100);
        std::vector<float> r(44100);
        const std::array<float*, 2> out = {l.data(), r.data()};
        s.render(line, out, l.size());
        return l;
    };
    const auto first = rendered(44100 - 8000);
    const auto later =
        rendered(std::int64_t{44100} * 1800 - 8000);  // half an hour of line, an hour as heard
    CHECK(first == later);
    CHECK(line.round(44100.0 * 1800) == 1800);
}

TEST_CASE("player: count-in clicks come first, the sound a beat after the last, to the frame") {
    PlayerCore core(cd);
    Audio a = made(cd, 1, 44100);
    for (float& x : a.channels[0])
        x = 0.5F;
    REQUIRE(core.load(std::make_shared<const Audio>(std::move(a))));
    REQUIRE(core.play({3, HeardSeconds(0.2)}));
    Heard h;
    run(core, 160, h);
    const auto first_above = [&](std::size_t from, double threshold) {
        while (from < h.left.size() && std::abs(h.left[from]) <= threshold)
            ++from;
        return from;
    };
    const std::size_t beat = 8820;
    for (std::size_t n = 0; n < 3; ++n) {
        CHECK(first_above(n * beat + 40, 1e-6) <= n * beat + limiter_delay + 2);
        CHECK(first_above(n * beat + 2000 + limiter_delay, 1e-6) >=
              (n + 1) * beat + limiter_delay);  // silence after
    }
    CHECK(first_above(3 * beat, 1e-6) == 3 * beat + limiter_delay);
    CHECK(h.status.front().count_in_left == 2);
    CHECK(h.status.back().count_in_left == 0);
    CHECK(h.status[30].place == Frames(0));  // the recording waits
}

TEST_CASE("player: the trainer raises the speed after so many rounds, up to its end") {
    PlayerCore core(cd);
    REQUIRE(core.load(noise(44100)));
    REQUIRE(core.loop({Frames(0), Frames(4410)}));
    REQUIRE(core.trainer({0.5, 0.2, 2, 1.0}));
    REQUIRE(core.play());
    Heard h;
    run(core, 400, h);
    std::vector<double> speeds;
    std::vector<std::int64_t> rounds;
    for (const PlayerStatus& s : h.status) {
        if (!speeds.empty() && s.speed == speeds.back()) continue;
        speeds.push_back(s.speed);
        rounds.push_back(s.round);
    }
    REQUIRE(speeds.size() == 4);
    CHECK(speeds[0] == 0.5);
    CHECK(speeds[1] == doctest::Approx(0.7));
    CHECK(speeds[2] == doctest::Approx(0.9));
    CHECK(speeds[3] == 1.0);
    // The ear lags the change by the limiter's 72 frames: within the round before.
    for (std::size_t i = 1; i < 4; ++i)
        CHECK(std::abs(static_cast<double>(rounds[i]) - 2.0 * static_cast<double>(i)) <= 1);
}

TEST_CASE("player: a seek lands on its frame, while playing too, without a click") {
    PlayerCore core(cd);
    const auto audio = noise(44100 * 2);
    REQUIRE(core.load(audio));
    REQUIRE(core.play());
    Heard h;
    run(core, 20, h);
    REQUIRE(core.seek(Frames(50000)));
    run(core, 60, h);
    const Frames now = h.status.back().place;
    // What is heard now is the recording at the place reported.
    const std::size_t last_block = h.left.size() - block;
    for (std::size_t i = 0; i < block; ++i) {
        REQUIRE(h.left[last_block + i] ==
                audio->channels[0][static_cast<std::size_t>(now.value()) + i] * level);
    }
    CHECK(now.value() > 50000);
    CHECK(now.value() < 50000 + 60 * 256);
}

TEST_CASE("player: at the end it stops; the next play begins again where a player expects it") {
    PlayerCore core(cd);
    const auto audio = noise(10000, 3000);
    REQUIRE(core.load(audio));
    REQUIRE(core.play());
    Heard h;
    run(core, 60, h);  // 15360 frames: past the end
    CHECK_FALSE(h.status.back().playing);
    for (const int time : {1, 2}) {
        CAPTURE(time);
        REQUIRE(core.play());
        h = {};
        run(core, 20, h);
        CHECK(h.status.back().playing);
        const auto place = static_cast<std::size_t>(h.status.back().place.value() - 3000);
        CHECK(place > 4000);
        CHECK(place < 20 * block);
        const std::size_t last_block = h.left.size() - block;
        for (std::size_t i = 0; i < block; ++i)
            REQUIRE(h.left[last_block + i] == audio->channels[0][place + i] * level);
        run(core, 40, h);
        CHECK_FALSE(h.status.back().playing);
    }
    // Stopped at the end, then a loop over the last part: it begins at the loop's beginning.
    REQUIRE(core.loop({Frames(9000), Frames(13000)}));
    REQUIRE(core.play());
    h = {};
    run(core, 10, h);
    CHECK(h.status.back().playing);
    CHECK(h.status.back().place >= Frames(9000));
    CHECK(h.status.back().place < Frames(9000 + 10 * 256));
}

TEST_CASE("player: sound is there within 60 ms of the key at 256-frame blocks") {
    PlayerCore core(cd);
    REQUIRE(core.load(noise(44100)));
    Heard h;
    run(core, 10, h);
    for (const double speed : {1.0, 0.5, 0.1}) {
        REQUIRE(core.speed(speed));
        REQUIRE(core.seek(Frames(1000)));
        REQUIRE(core.play());
        h = {};
        run(core, 20, h);
        std::size_t first = 0;
        // Within 6 dB of what it will be: noise of 0.1 rms at the level.
        while (first < h.left.size() && std::abs(h.left[first]) < 0.05 * level)
            ++first;
        // The rest of the 60 ms is the device's: its block and what it buffers.
        CHECK(static_cast<double>(first + block) / 44100 < 0.030);
        REQUIRE(core.pause());
        run(core, 10, h);
    }
}

TEST_CASE("player: it starts quiet, and the meter reads what comes out") {
    // A sine of amplitude a has rms a / sqrt 2; -18 dB is the level before anyone has set one.
    PlayerCore core(cd);
    Audio tone = made(cd, 1, 44100 * 2);
    add_tone(tone.channels[0], cd, 441.0, 0.5);
    REQUIRE(core.load(std::make_shared<const Audio>(std::move(tone))));
    REQUIRE(core.play());
    Heard h;
    run(core, 120, h);
    const double peak = 20.0 * std::log10(0.5) - 18.0;
    CHECK(std::abs(h.status.back().peak.value() - peak) < 0.05);
    CHECK(std::abs(h.status.back().rms.value() - (peak - 3.0103)) < 0.05);
    CHECK(h.status.back().limiter_gain.value() == 0.0);
}

TEST_CASE(
    "player: silence, one frame, 8 and 192 kHz, mono and samples that are no numbers do no harm") {
    struct Case {
        int rate, channels;
        std::size_t frames;
    };
    for (const Case& c :
         {Case{44100, 2, 20000}, Case{44100, 1, 1}, Case{8000, 1, 8000}, Case{192000, 2, 96000}}) {
        PlayerCore core(cd);
        Audio a = made(SampleRate(c.rate), c.channels, c.frames);
        if (c.rate != 44100) {
            for (auto& x : a.channels)
                add_tone(x, SampleRate(c.rate), 440.0, 0.2);
            a.channels[0][c.frames / 2] = std::nanf("");
            a.channels[0][c.frames / 3] = INFINITY;
        }
        REQUIRE(core.load(std::make_shared<const Audio>(std::move(a))));
        REQUIRE(core.loop({Frames(0), Frames(static_cast<std::int64_t>(c.frames))}));
        REQUIRE(core.play());
        Heard h;
        for (const double speed : {1.0, 0.3, 2.0}) {
            REQUIRE(core.speed(speed));
            run(core, 30, h);
        }
        bool sound = false;
        for (const float x : h.left) {
            REQUIRE(std::isfinite(x));
            sound = sound || x != 0.0F;
        }
        CHECK(sound == (c.rate != 44100));
        if (c.rate != 44100)
            CHECK(std::abs(measured_hz(h.left, cd, 440.0, 4000, 7600) - 440.0) < 0.2);
    }
}
