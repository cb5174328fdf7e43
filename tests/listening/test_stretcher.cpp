// stretcher: length, pitch, timing, stereo and exactness of slowed sound.
#include <algorithm>

#include <doctest/doctest.h>

#include "engine/listening/stretcher.h"
#include "tests/listening/signals.h"

using namespace bentline;
using namespace bentline::test;

namespace {
constexpr SampleRate cd{44100};
}

TEST_CASE("stretcher: at speed 1 and 0 cents the output is the input, sample for sample") {
    Audio in = made(cd, 2, 50000);
    add_noise(in.channels[0], 0.2, 1);
    add_noise(in.channels[1], 0.2, 2);
    const auto out = slow_down(in, 1.0, Cents(0));
    REQUIRE(out.ok());
    CHECK(out->channels == in.channels);
}

TEST_CASE("stretcher: length is round(frames / speed) at every speed") {
    for (const std::size_t frames :
         {std::size_t{0}, std::size_t{1}, std::size_t{2}, std::size_t{4097}, std::size_t{22051}}) {
        Audio in = made(cd, 1, frames);
        add_noise(in.channels[0], 0.1, 3);
        for (const double speed : {0.1, 0.25, 0.333, 0.5, 0.75, 0.99, 1.0, 1.5, 2.0}) {
            const auto out = slow_down(in, speed, Cents(0));
            REQUIRE(out.ok());
            CHECK(out->length().value() == std::llround(static_cast<double>(frames) / speed));
        }
    }
}

TEST_CASE("stretcher: a slowed tone keeps its pitch within 0.1 cent; retuned, moves by its cents") {
    // Ellis: 1200 log2(ratio). 0.1 cent is a twentieth of the smallest difference that trained ears
    // notice on steady tones (2 c).
    for (const double hz : {82.4069, 440.0, 1318.51}) {
        Audio in = made(cd, 1, 44100 * 2);
        add_tone(in.channels[0], cd, hz, 0.3);
        for (const double speed : {0.25, 0.5, 0.75, 1.0, 1.5}) {
            for (const double cents : {0.0, 50.0, -1200.0, 1200.0}) {
                const auto out = slow_down(in, speed, Cents(cents));
                REQUIRE(out.ok());
                const double wanted = hz * std::exp2(cents / 1200.0);
                const auto n = out->channels[0].size();
                const double got = measured_hz(out->channels[0], cd, wanted, n / 4, n * 3 / 4);
                CAPTURE(hz);
                CAPTURE(speed);
                CAPTURE(cents);
                CHECK(std::abs(1200.0 * std::log2(got / wanted)) < 0.1);
            }
        }
    }
}

TEST_CASE("stretcher: a click lands at its place over the speed, once, within 0.3 ms") {
    for (const double speed : {0.25, 0.5, 0.75, 1.5}) {
        Audio in = made(cd, 1, 44100);
        const std::size_t click = 20011;
        in.channels[0][click] = 0.8F;
        const auto out = slow_down(in, speed, Cents(0));
        REQUIRE(out.ok());
        const auto& y = out->channels[0];
        const auto peak = std::max_element(
            y.begin(), y.end(), [](float a, float b) { return std::abs(a) < std::abs(b); });
        CAPTURE(speed);
        CHECK(std::abs(static_cast<double>(peak - y.begin()) - static_cast<double>(click) / speed) <
              0.0003 * 44100);
        // Nothing else reaches a hundredth of it.
        double rest = 0.0;
        for (auto it = y.begin(); it != y.end(); ++it) {
            if (std::abs(it - peak) > 44) rest = std::max(rest, static_cast<double>(std::abs(*it)));
        }
        CHECK(rest < 0.01 * std::abs(*peak));
    }
}

TEST_CASE("stretcher: a silent channel stays silent") {
    Audio in = made(cd, 2, 44100);
    add_noise(in.channels[0], 0.2, 4);
    const auto out = slow_down(in, 0.5, Cents(0));
    REQUIRE(out.ok());
    const auto [lo, hi] = std::minmax_element(out->channels[1].begin(), out->channels[1].end());
    CHECK(*lo == 0.0F);
    CHECK(*hi == 0.0F);
}

TEST_CASE("stretcher: speeds and retunes outside the range are refused with a reason") {
    const Audio in = made(cd, 1, 100);
    CHECK(slow_down(in, 0.05, Cents(0)).failure().kind == FailureKind::out_of_range);
    CHECK(slow_down(in, 2.5, Cents(0)).failure().kind == FailureKind::out_of_range);
    CHECK(slow_down(in, std::nan(""), Cents(0)).failure().kind == FailureKind::out_of_range);
    CHECK(slow_down(in, 0.5, Cents(1300)).failure().kind == FailureKind::out_of_range);
}
