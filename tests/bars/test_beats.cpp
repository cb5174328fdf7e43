// beat following: clicks whose times are known exactly, bands whose beats are known, and sound
// without beats.
#include <cmath>
#include <cstdio>
#include <numeric>

#include <doctest/doctest.h>
#include <sys/wait.h>

#include "engine/bars/beats.h"
#include "engine/bars/swing.h"
#include "tests/bars/band.h"
#include "tests/bars/beat_score.h"
#include "tests/support/dice.h"

using namespace bentline;
using namespace bentline::testing;

namespace {

constexpr SampleRate rate{22050};
constexpr Seconds frame{0.01};  // of the onset strength

// Short bursts of noise, every fourth lower and louder.
Audio clicks(const std::vector<Seconds>& beats, Seconds length) {
    Dice dice(9);
    std::vector<float> x(static_cast<std::size_t>(length.value() * rate.value()), 0.0F);
    for (std::size_t b = 0; b < beats.size(); ++b) {
        const auto from = static_cast<std::size_t>(to_frames(beats[b], rate).value());
        float slow = 0.0F;
        for (std::size_t i = 0; i < 600 && from + i < x.size(); ++i) {
            const auto noise = static_cast<float>(dice.between(-1.0, 1.0) *
                                                  std::exp(-static_cast<double>(i) / 120));
            slow = 0.9F * slow + noise;
            x[from + i] += b % 4 == 0 ? 0.5F * slow : 0.4F * noise;
        }
    }
    return {rate, Frames(0), {x}};
}

std::vector<Seconds> steady(Tempo tempo, Seconds length) {
    std::vector<Seconds> beats;
    for (Seconds t(0.4); t < length - Seconds(0.1); t += beat_length(tempo))
        beats.push_back(t);
    return beats;
}

double mean_distance(const std::vector<Seconds>& truth, const std::vector<Seconds>& found) {
    double sum = 0.0;
    for (const Seconds f : found) {
        double nearest = 1e9;
        for (const Seconds t : truth)
            nearest = std::min(nearest, std::abs((f - t).value()));
        sum += nearest;
    }
    return sum / static_cast<double>(found.size());
}

}  // namespace

TEST_CASE("beats: clicks from 60 to 240 a minute are found within 10 ms, a frame") {
    for (const double bpm : {60.0, 92.0, 120.0, 171.0, 240.0}) {
        const auto truth = steady(Tempo(bpm), Seconds(20.0));
        BeatSettings settings;
        settings.tempo_hint = Tempo(bpm * 1.07);  // a hint that is a little off
        const auto found = follow_beats(clicks(truth, Seconds(20.0)), settings);
        REQUIRE(found.ok());
        CHECK(found->tempo.value() == doctest::Approx(bpm).epsilon(0.03));
        CHECK(beat_f_measure(truth, found->beats) > 0.97);
        CHECK(mean_distance(truth, found->beats) < frame.value());
    }
}

TEST_CASE("beats: a click track is followed without a hint") {
    for (const double bpm : {100.0, 120.0, 150.0}) {
        const auto truth = steady(Tempo(bpm), Seconds(20.0));
        const auto found = follow_beats(clicks(truth, Seconds(20.0)));
        REQUIRE(found.ok());
        CHECK(found->tempo.value() == doctest::Approx(bpm).epsilon(0.03));
        CHECK(beat_f_measure(truth, found->beats) > 0.97);
    }
}

TEST_CASE("beats: a hint mends half and double time") {
    const auto truth = steady(Tempo(160.0), Seconds(20.0));
    const Audio audio = clicks(truth, Seconds(20.0));
    BeatSettings half;
    half.tempo_hint = Tempo(80.0);
    CHECK(follow_beats(audio, half)->tempo.value() == doctest::Approx(80.0).epsilon(0.03));
    BeatSettings right;
    right.tempo_hint = Tempo(160.0);
    CHECK(follow_beats(audio, right)->tempo.value() == doctest::Approx(160.0).epsilon(0.03));
}

TEST_CASE("beats: an excerpt's beats are the recording's times") {
    const auto truth = steady(Tempo(120.0), Seconds(20.0));
    Audio audio = clicks(truth, Seconds(20.0));
    audio.start = Frames(22050 * 100);
    const auto found = follow_beats(audio);
    REQUIRE(found.ok());
    CHECK(found->beats.front() > Seconds(99.9));
    const auto map = to_bar_map(*found);
    REQUIRE(map.ok());
    CHECK(map->position_at(found->downbeat_times().front()) == BarBeat{1, Beats(0.0)});
}

TEST_CASE("beats: what has no beats, a hint out of range, and a stop are told apart") {
    const Audio silence{rate, Frames(0), {std::vector<float>(22050 * 5, 0.0F)}};
    CHECK(follow_beats(silence).failure().kind == FailureKind::empty);
    const Audio nothing{rate, Frames(0), {std::vector<float>()}};
    CHECK(follow_beats(nothing).failure().kind == FailureKind::empty);
    Audio tone = silence;
    for (std::size_t i = 0; i < tone.channels[0].size(); ++i)
        tone.channels[0][i] = static_cast<float>(0.4 * std::sin(0.125 * static_cast<double>(i)));
    CHECK(follow_beats(tone).failure().kind == FailureKind::empty);
    const Audio brief = clicks(steady(Tempo(120.0), Seconds(1.0)), Seconds(1.0));
    CHECK(follow_beats(brief).failure().kind == FailureKind::empty);
    BeatSettings settings;
    settings.tempo_hint = Tempo(1000.0);
    CHECK(follow_beats(silence, settings).failure().kind == FailureKind::out_of_range);
    std::stop_source source;
    source.request_stop();
    Work work;
    work.stop = source.get_token();
    const Audio audio = clicks(steady(Tempo(120.0), Seconds(5.0)), Seconds(5.0));
    CHECK(follow_beats(audio, {}, work).failure().kind == FailureKind::stopped);
}

TEST_CASE("beats: bands in several feels, steady and breathing by 8 %") {
    // A small part of what bentline_beat_runner measures; the bounds are those that it is held to.
    for (const Feel feel : {Feel::swing, Feel::even_eighths, Feel::waltz}) {
        for (const double drift : {0.0, 0.08}) {
            BandSettings settings;
            settings.feel = feel;
            settings.seed = 104;
            settings.drift = drift;
            settings.length = Seconds(20.0);
            const auto band = play_band(settings);
            REQUIRE(band.ok());
            const auto found = follow_beats(band->audio);
            REQUIRE(found.ok());
            CHECK_MESSAGE(beat_f_measure(band->beats, found->beats) >= (drift > 0.0 ? 0.90 : 0.95),
                          band->name);
            CHECK_MESSAGE(beat_f_measure(band->downbeats, found->downbeat_times()) >= 0.85,
                          band->name);
            CHECK(found->metre == band->metre);
            CHECK(found->count_in == band->count_in_beats);
        }
    }
}

TEST_CASE("beats: the usual swing falls with the tempo [Friberg & Sundstrom 2002]") {
    CHECK(usual_swing(beat_length(Tempo(60.0))) == 3.5);
    CHECK(usual_swing(beat_length(Tempo(200.0))) == doctest::Approx(2.0));  // 200 and 100 ms
    CHECK(usual_swing(beat_length(Tempo(300.0))) == doctest::Approx(1.0));
    CHECK(usual_swing(beat_length(Tempo(340.0))) == 1.0);
}

TEST_CASE("beats: the swing ratio of bands, from 1.5:1 to 3:1 at several tempos") {
    double off = 0.0;
    int bands = 0;
    for (const auto& [tempo, swing] : {std::pair(100.0, 1.5),
                                       {100.0, 3.0},
                                       {140.0, 2.0},
                                       {140.0, 3.0},
                                       {180.0, 1.5},
                                       {180.0, 2.2},
                                       {210.0, 1.8}}) {
        BandSettings settings;
        settings.feel = Feel::swing;
        settings.seed = 108;
        settings.tempo = Tempo(tempo);
        settings.swing = swing;
        settings.length = Seconds(20.0);
        const auto band = play_band(settings);
        REQUIRE(band.ok());
        const auto found = follow_beats(band->audio);
        REQUIRE(found.ok());
        REQUIRE(found->swing_ratio.has_value());
        off += std::abs(*found->swing_ratio - swing) / swing;
        ++bands;
    }
    MESSAGE("swing off by ", off / bands, " on average");
    CHECK(off / bands <= band_swing_error);
}

TEST_CASE("beats: a hint mends half and double time of a band in one command") {
    for (const Feel feel : {Feel::swing, Feel::ballad}) {
        BandSettings settings;
        settings.feel = feel;
        settings.seed = 109;
        settings.length = Seconds(20.0);
        const auto band = play_band(settings);
        REQUIRE(band.ok());
        for (const double octave : {0.5, 1.0, 2.0}) {
            const double wanted = band->tempo.value() * octave;
            if (wanted < 40.0 || wanted > 300.0) continue;
            BeatSettings hint;
            hint.tempo_hint = Tempo(wanted * 1.05);
            const auto found = follow_beats(band->audio, hint);
            REQUIRE(found.ok());
            CHECK_MESSAGE(std::abs(found->tempo.value() / wanted - 1.0) < 0.05, band->name);
            if (octave == 1.0) CHECK(beat_f_measure(band->beats, found->beats) >= 0.95);
        }
    }
}

TEST_CASE("beats: without a drummer, with brushes, and through a drummer's four bars alone") {
    for (const Drums drums : {Drums::none, Drums::brushes, Drums::breaks}) {
        BandSettings settings;
        settings.feel = Feel::swing;
        settings.seed = 110;
        settings.drums = drums;
        const auto band = play_band(settings);
        REQUIRE(band.ok());
        const auto found = follow_beats(band->audio);
        REQUIRE(found.ok());
        CHECK_MESSAGE(beat_f_measure(band->beats, found->beats) >= 0.95, static_cast<int>(drums));
        CHECK_MESSAGE(beat_f_measure(band->downbeats, found->downbeat_times()) >= 0.85,
                      static_cast<int>(drums));
    }
}

TEST_CASE(
    "beats: bar 1 comes after a count-in of sticks, and there where the band begins without") {
    int counted = 0;
    for (const std::uint64_t seed : {104U, 105U, 106U, 107U}) {
        BandSettings settings;
        settings.feel = Feel::two_beat;
        settings.seed = seed;
        settings.length = Seconds(16.0);
        const auto band = play_band(settings);
        REQUIRE(band.ok());
        counted += band->count_in_beats > 0 ? 1 : 0;
        const auto found = follow_beats(band->audio);
        REQUIRE(found.ok());
        const Seconds off = found->downbeat_times().front() - band->downbeats.front();
        CHECK_MESSAGE(std::abs(off.value()) < 0.07, band->name);
    }
    CHECK(counted > 0);
    CHECK(counted < 4);
}

TEST_CASE("beats: the F-measure is mir_eval's") {
    Dice dice(3);
    std::vector<Seconds> truth;
    std::vector<Seconds> found;
    for (double t = 0.5; t < 40.0; t += 0.5) {
        truth.push_back(Seconds(t));
        if (dice.chance(0.8)) found.push_back(Seconds(t + dice.between(-0.12, 0.12)));
        if (dice.chance(0.1)) found.push_back(Seconds(t + 0.25));
    }
    std::string python =
        "import sys\ntry:\n import numpy as np, mir_eval\nexcept ImportError:\n sys.exit(3)\n";
    const auto list = [](const char* name, const std::vector<Seconds>& row) {
        std::string text = std::string(name) + "=mir_eval.beat.trim_beats(np.array([";
        for (const Seconds t : row)
            text += std::to_string(t.value()) + ",";
        return text + "]))\n";
    };
    python += list("a", truth) + list("b", found) + "print(mir_eval.beat.f_measure(a,b))\n";
    std::FILE* pipe = ::popen(("/usr/bin/python3 -c '" + python + "' 2>/dev/null").c_str(), "r");
    REQUIRE(pipe != nullptr);
    double theirs = -1.0;
    const int read = std::fscanf(pipe, "%lf", &theirs);
    const int status = ::pclose(pipe);
    if (WIFEXITED(status) && WEXITSTATUS(status) != 0) {
        MESSAGE("skipped: python3-mir-eval is not installed (third_party/install.sh test)");
        return;
    }
    REQUIRE(read == 1);
    CHECK(beat_f_measure(truth, found) == doctest::Approx(theirs).epsilon(1e-4));
}
