// recording: how much sound comes from each place on the stage.
#include <algorithm>
#include <cmath>
#include <numbers>

#include <doctest/doctest.h>

#include "engine/recording/stage.h"

using namespace bentline;

namespace {

// Tones, each at its own frequency and place by the constant-power law: left = cos, right = sin of
// (place + 1) * pi / 4.
Audio tones(std::initializer_list<std::pair<double, double>> hz_and_place) {
    Audio audio{
        SampleRate(44100), Frames(0), {std::vector<float>(88200), std::vector<float>(88200)}};
    for (const auto& [hz, place] : hz_and_place) {
        const double angle = (place + 1.0) * std::numbers::pi / 4.0;
        for (std::size_t i = 0; i < 88200; ++i) {
            const double v =
                0.3 * std::sin(2.0 * std::numbers::pi * hz * static_cast<double>(i) / 44100.0);
            audio.channels[0][i] += static_cast<float>(std::cos(angle) * v);
            audio.channels[1][i] += static_cast<float>(std::sin(angle) * v);
        }
    }
    return audio;
}

double place_of(const StageProfile& p, std::size_t i) {
    return -1.0 + (2.0 * static_cast<double>(i) + 1.0) / static_cast<double>(p.share.size());
}

}  // namespace

TEST_CASE("stage: a panned tone appears within one step of its place [constant-power law]") {
    for (const double place : {-1.0, -0.6, 0.0, 0.25, 1.0}) {
        const Audio audio = tones({{330.0, place}});
        const StageProfile p = stage_profile(audio, {Seconds(0), Seconds(2)}, 50);
        const auto top = static_cast<std::size_t>(std::max_element(p.share.begin(), p.share.end()) -
                                                  p.share.begin());
        CHECK(std::abs(place_of(p, top) - place) <= 2.0 / 50.0);
        CHECK(p.share[top] == 1.0F);
    }
}

TEST_CASE("stage: two players at two places are told apart, sound outside the band is left out") {
    const Audio audio = tones({{262.0, -0.5}, {440.0, 0.5}, {40.0, 0.0}, {9000.0, 0.0}});
    const StageProfile p = stage_profile(audio, {Seconds(0), Seconds(2)}, 40);
    CHECK(p.share[10] + p.share[9] > 0.5F);  // -0.5 lies on the border of two steps
    CHECK(p.share[30] + p.share[29] > 0.5F);
    CHECK(p.share[20] + p.share[19] < 0.05F);
}

TEST_CASE("stage: mono sound comes from the middle, silence and an empty span from nowhere") {
    Audio mono = tones({{330.0, 0.0}});
    const StageProfile none = stage_profile(mono, {Seconds(1), Seconds(1)}, 41);
    CHECK(*std::max_element(none.share.begin(), none.share.end()) == 0.0F);
    mono.channels.pop_back();
    CHECK(stage_profile(mono, {Seconds(0), Seconds(2)}, 41).share[20] == 1.0F);
    const Audio silence{
        SampleRate(44100), Frames(0), {std::vector<float>(44100), std::vector<float>(44100)}};
    const StageProfile silent = stage_profile(silence, {Seconds(0), Seconds(1)}, 41);
    CHECK(*std::max_element(silent.share.begin(), silent.share.end()) == 0.0F);
}
