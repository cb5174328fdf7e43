// lead_net: what small networks must say can be worked out by hand; long sounds are seen alike
// wherever they are cut.
#include <algorithm>
#include <cmath>
#include <optional>
#include <stop_token>
#include <vector>

#include <doctest/doctest.h>

#include "engine/pitch/lead_net.h"
#include "engine/pitch/sound_map.h"
#include "tests/support/tones.h"

using namespace bentline;

namespace {

// Four features, one detail, one number of likeness and of context, all parameters 0 but for: the
// patch passes the loudness of its middle, feature 0 takes it at the pitch itself, the first answer
// gives it ten points, and rest three.
struct TinyNet {
    static constexpr std::size_t local = 0, harmonic = 28, block = 76, first = 280, rest = 322;
    LeadNet net{4, 1, 1, 1, {}};
    std::vector<float> values;

    TinyNet() : values(net.parameters_needed(), 0.0F) {
        values[local + 4] = 1.0F;
        values[harmonic + 2] = 1.0F;
        values[first] = 10.0F;
        values[rest] = 3.0F;
        net.parameters = values;
    }
};

SoundMap dark_map(std::size_t frames) {
    SoundMap map;
    map.frames = frames;
    map.values.assign(frames * map_planes * map_bins, 0.0F);
    return map;
}

void light(SoundMap& map, std::size_t frame, std::size_t bin) {
    map.values[(frame * map_planes + map_loudness) * map_bins + bin] = 1.0F;
}

float chance(const LeadView& view, std::size_t frame, std::size_t bin) {
    return view.chances[frame * LeadView::row + bin];
}

const double lit = std::exp(10.0) / (std::exp(10.0) + 179.0 + std::exp(3.0));
const double dark = 1.0 / (180.0 + std::exp(3.0));

}  // namespace

TEST_CASE("lead_net: chances of a tiny network, by hand") {
    const TinyNet tiny;
    SoundMap map = dark_map(3);
    light(map, 1, lead_lowest_bin + 50);
    const auto view = view_lead(map, tiny.net, {}, Work{});
    REQUIRE(view);
    CHECK(chance(*view, 1, 50) == doctest::Approx(lit).epsilon(1e-5));
    CHECK(chance(*view, 0, 50) == doctest::Approx(dark).epsilon(1e-5));
    CHECK(chance(*view, 0, lead_pitches) == doctest::Approx(std::exp(3.0) * dark).epsilon(1e-5));
    const Pitch p = lead_lowest + Cents(50.0 * 100.0 / 3.0);
    const double beside = 2.0 / (std::exp(10.0) + 179.0 + std::exp(3.0));
    CHECK(view->sounds(Seconds(0.02), p) == doctest::Approx(lit + beside).epsilon(1e-5));
    // Half way to the moment after, half of each.
    CHECK(view->sounds(Seconds(0.03), p) ==
          doctest::Approx(0.5 * (lit + beside + 3.0 * dark)).epsilon(1e-5));
    CHECK(view->sounds_outside(Seconds(0.02), p - Cents(10), p + Cents(10)) ==
          doctest::Approx(179.0 / (std::exp(10.0) + 179.0 + std::exp(3.0))).epsilon(1e-4));
    REQUIRE(view->likely(Seconds(0.02), 0.5).size() == 1);
    CHECK(std::abs((view->likely(Seconds(0.02), 0.5)[0] - p).value()) < 0.1);
    CHECK(view->likely(Seconds(0.0), 0.5).empty());
}

TEST_CASE("lead_net: a block looks back in time and down an octave") {
    TinyNet tiny;
    // Block 0: feature 0 passes its middle, from the moment before, and is added.
    const std::size_t across = TinyNet::block;
    const std::size_t octaves = across + 20;
    const std::size_t along = octaves + 16;
    const std::size_t mix = along + 12;
    tiny.values[along] = 1.0F;
    tiny.values[mix] = 1.0F;
    SoundMap map = dark_map(12);
    light(map, 5, lead_lowest_bin + 50);
    SUBCASE("its own bin") {
        tiny.values[across + 2] = 1.0F;
        const auto view = view_lead(map, tiny.net, {}, Work{});
        REQUIRE(view);
        CHECK(chance(*view, 5, 50) == doctest::Approx(lit).epsilon(1e-5));
        CHECK(chance(*view, 6, 50) == doctest::Approx(lit).epsilon(1e-5));
        CHECK(chance(*view, 4, 50) == doctest::Approx(dark).epsilon(1e-5));
        CHECK(chance(*view, 7, 50) == doctest::Approx(dark).epsilon(1e-5));
    }
    SUBCASE("an octave below") {
        tiny.values[octaves + 1] = 1.0F;
        const auto view = view_lead(map, tiny.net, {}, Work{});
        REQUIRE(view);
        CHECK(chance(*view, 6, 86) == doctest::Approx(lit).epsilon(1e-5));
        CHECK(chance(*view, 6, 50) ==
              doctest::Approx(1.0 / (std::exp(10.0) + 179.0 + std::exp(3.0))).epsilon(1e-4));
    }
}

TEST_CASE("lead_net: the trained network hears the same at every place of a long, even sound") {
    SoundMap map = dark_map(1300);
    for (std::size_t t = 0; t < map.frames; ++t) {
        for (const std::size_t partial : {0, 36, 57, 72})
            light(map, t, lead_lowest_bin + 80 + partial);
    }
    const auto view = view_lead(map, trained_lead_net(), {}, Work{});
    REQUIRE(view);
    double sum = 0.0;
    for (std::size_t b = 0; b < LeadView::row; ++b)
        sum += static_cast<double>(chance(*view, 600, b));
    CHECK(sum == doctest::Approx(1.0).epsilon(1e-5));
    for (const std::size_t t : {400, 511, 512, 513, 900, 1023, 1024, 1025}) {
        for (const std::size_t b : {20, 44, 80, 116, 180})
            CHECK(chance(*view, t, b) == doctest::Approx(chance(*view, 600, b)).epsilon(1e-4));
    }
    const auto again = view_lead(map, trained_lead_net(), {}, Work{});
    REQUIRE(again);
    CHECK(view->chances == again->chances);
}

TEST_CASE("lead_net: where the lead is known, its likeness is taken from there") {
    // Two voices a sixth apart, one on each side of the stage.
    SoundMap map = dark_map(300);
    for (std::size_t t = 0; t < map.frames; ++t) {
        for (const std::size_t partial : {0, 36, 57, 72}) {
            light(map, t, lead_lowest_bin + 80 + partial);
            light(map, t, lead_lowest_bin + 108 + partial);
            for (const std::size_t voice : {80, 108}) {
                map.values[(t * map_planes + map_place) * map_bins + lead_lowest_bin + voice +
                           partial] = voice == 80 ? -0.6F : 0.6F;
            }
        }
    }
    const auto bin_pitch = [](std::size_t b) {
        return lead_lowest + Cents(100.0 * static_cast<double>(b) / 3.0);
    };
    std::vector<std::optional<Range<Pitch>>> known(map.frames);
    const auto told = [&](std::size_t bin) {
        for (std::size_t t = 0; t < 60; ++t)
            known[t] = Range<Pitch>{bin_pitch(bin - 2), bin_pitch(bin + 2)};
        const auto view = view_lead(map, trained_lead_net(), known, Work{});
        REQUIRE(view);
        return std::log(view->sounds(Seconds(5.0), bin_pitch(80)) + 1e-9) -
               std::log(view->sounds(Seconds(5.0), bin_pitch(108)) + 1e-9);
    };
    // Nothing known is as if nothing were asked.
    const auto plain = view_lead(map, trained_lead_net(), {}, Work{});
    const auto untold = view_lead(map, trained_lead_net(), known, Work{});
    REQUIRE(plain);
    REQUIRE(untold);
    CHECK(plain->chances == untold->chances);
    // Later on, the voice that was pointed at gains on the other.
    CHECK(told(80) > told(108) + 0.2);
}

TEST_CASE("lead_net: without frames there is nothing to see; it can be stopped") {
    CHECK(view_lead(dark_map(0), trained_lead_net(), {}, Work{})->frames == 0);
    std::stop_source source;
    source.request_stop();
    CHECK_FALSE(view_lead(dark_map(4), trained_lead_net(), {}, Work{{}, source.get_token()}));
}

TEST_CASE("sound_map: a sine lies in its bin, at its place and level") {
    const SampleRate rate(44100);
    // A4 = 440 Hz (ISO 16): MIDI 69, bin 3 * (69 - 22).
    const auto tone = testing::sine(Hertz(440.0), Seconds(1.0), rate, 0.5);
    std::vector<float> right = tone;
    for (float& v : right)
        v *= 0.5F;
    const Audio audio = testing::stereo_of(std::vector<float>(tone), std::move(right), rate);
    const WorkingSignal sound = working_signal(audio, Focus{}, 0);
    const auto map = sound_map(sound, 0, 50, Work{});
    REQUIRE(map);
    const auto loud = map->plane(25, map_loudness);
    std::size_t top = 0;
    for (std::size_t b = 0; b < map_bins; ++b) {
        if (loud[b] > loud[top]) top = b;
    }
    CHECK(top == 3 * (69 - 22));
    // Twice the amplitude on the left: (1/4 - 1) / (1/4 + 1).
    CHECK(map->plane(25, map_place)[top] ==
          doctest::Approx(-0.6 * std::min(1.0F, loud[top])).epsilon(0.01));
    CHECK(map->plane(25, map_relief)[top] > 1.0F);
}
