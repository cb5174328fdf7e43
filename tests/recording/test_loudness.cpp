// loudness: the figures of ITU-R BS.1770 and EBU Tech 3341 come out.
#include <cmath>
#include <vector>

#include <doctest/doctest.h>

#include "engine/recording/loudness.h"
#include "tests/recording/sound_files.h"
#include "tests/support/tones.h"

using namespace bentline;
using namespace bentline::testing;

namespace {

std::vector<float> sine_at(Decibels peak, double frequency, double seconds, int rate) {
    return sine(Hertz(frequency), Seconds(seconds), SampleRate(rate), amplitude(peak));
}
Audio stereo(const std::vector<float>& left, const std::vector<float>& right, int rate = 48000) {
    return Audio{SampleRate(rate), Frames(0), {left, right}};
}
double integrated(const Audio& audio) {
    const Loudness loudness = measure_loudness(audio);
    REQUIRE(loudness.integrated.has_value());
    return loudness.integrated->value();
}

}  // namespace

TEST_CASE(
    "loudness: a 0 dBFS sine of 997 Hz in one channel is -3.01 LKFS [ITU-R BS.1770-4 annex 1]") {
    const double bound = loudness_error.value();
    for (const int rate : {44100, 48000, 96000}) {
        CAPTURE(rate);
        const std::vector<float> tone = sine_at(Decibels(0), 997, 5, rate);
        const std::vector<float> none(tone.size(), 0.0F);
        CHECK(std::fabs(integrated(stereo(tone, none, rate)) + 3.01) <= bound);
        CHECK(std::fabs(integrated(stereo(none, tone, rate)) + 3.01) <= bound);
        CHECK(std::fabs(integrated(Audio{SampleRate(rate), Frames(0), {tone}}) + 3.01) <= bound);
    }
}

TEST_CASE("loudness: -18 dBFS in both channels is -18.0 LKFS [ITU-R BS.1770-4]") {
    const std::vector<float> tone = sine_at(Decibels(-18), 997, 5, 48000);
    CHECK(std::fabs(integrated(stereo(tone, tone)) + 18.0) <= loudness_error.value());
}

TEST_CASE(
    "loudness: quiet stretches are gated [EBU Tech 3341 table 1, cases 3 and 4, from memory]") {
    // 10 s at -36, 60 s at -23, 10 s at -36 dBFS: -23 LUFS; and with -72 around it, too.
    const auto quiet = sine_at(Decibels(-36), 1000, 10, 48000);
    const auto loud = sine_at(Decibels(-23), 1000, 60, 48000);
    const auto faint = sine_at(Decibels(-72), 1000, 10, 48000);
    std::vector<float> case_3 = quiet;
    case_3.insert(case_3.end(), loud.begin(), loud.end());
    case_3.insert(case_3.end(), quiet.begin(), quiet.end());
    CHECK(std::fabs(integrated(stereo(case_3, case_3)) + 23.0) <= loudness_error.value());
    std::vector<float> case_4 = faint;
    case_4.insert(case_4.end(), case_3.begin(), case_3.end());
    case_4.insert(case_4.end(), faint.begin(), faint.end());
    CHECK(std::fabs(integrated(stereo(case_4, case_4)) + 23.0) <= loudness_error.value());
}

TEST_CASE("loudness: peaks of a sample and between the samples") {
    // A sine at a quarter of the rate, sampled 45 degrees off its peaks: samples of 0.7071 hide
    // peaks of 1 (3.01 dB more). EBU Tech 3341 allows a true-peak meter -0.4 to +0.2 dB.
    std::vector<float> tone(48000);
    for (std::size_t i = 0; i < tone.size(); ++i) {
        const double phase = std::numbers::pi / 2 * static_cast<double>(i) + std::numbers::pi / 4;
        tone[i] = static_cast<float>(0.5 * std::sin(phase));
    }
    const Loudness loudness = measure_loudness(stereo(tone, tone));
    REQUIRE(loudness.peak.has_value());
    REQUIRE(loudness.true_peak.has_value());
    CHECK(loudness.peak->value() ==
          doctest::Approx(20 * std::log10(0.5 * std::sqrt(0.5))).epsilon(1e-4));
    const double true_error = loudness.true_peak->value() - 20 * std::log10(0.5);
    CHECK(true_error > -0.4);
    CHECK(true_error < 0.2);
}

TEST_CASE("loudness: silence and a blink have none") {
    const std::vector<float> none(48000, 0.0F);
    const Loudness silence = measure_loudness(stereo(none, none));
    CHECK_FALSE(silence.integrated.has_value());
    CHECK_FALSE(silence.peak.has_value());
    CHECK_FALSE(silence.true_peak.has_value());
    const std::vector<float> blink = sine_at(Decibels(-6), 997, 0.2, 48000);
    const Loudness brief = measure_loudness(stereo(blink, blink));
    CHECK_FALSE(brief.integrated.has_value());  // shorter than one block of 400 ms
    CHECK(brief.peak.has_value());
}

TEST_CASE("loudness: a file measures as its sound in memory") {
    const Folder folder;
    const Audio audio = lively(44100, 2, 200000);
    write_sound(folder / "a.wav", SF_FORMAT_WAV | SF_FORMAT_FLOAT, audio);
    const auto recording = Recording::open(folder / "a.wav");
    REQUIRE(recording.ok());
    const auto from_file = measure_loudness(*recording);
    REQUIRE(from_file.ok());
    const Loudness from_memory = measure_loudness(audio);
    CHECK(from_file->integrated == from_memory.integrated);
    CHECK(from_file->peak == from_memory.peak);
    CHECK(from_file->true_peak == from_memory.true_peak);
}
