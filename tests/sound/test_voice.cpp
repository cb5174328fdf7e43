// sound: pitch, decay, strokes and gestures of the plucked-string voice.
#include <algorithm>
#include <cmath>
#include <complex>
#include <memory>
#include <numbers>
#include <vector>

#include <doctest/doctest.h>

#include "engine/sound/draft_voice.h"
#include "engine/sound/render_draft.h"
#include "tests/draft/drafts.h"

using namespace bentline;
using namespace bentline::testing;

namespace {

constexpr SampleRate cd{44100};

// Frequency of the partial nearest to `about`: phase advance between two Hann-windowed stretches
// that overlap by half; `length` frames each.
double measured_hz(const std::vector<float>& x, double about, std::size_t from, std::size_t length,
                   SampleRate rate = cd) {
    const auto spin = [&](std::size_t at, double hz) {
        std::complex<double> sum;
        for (std::size_t i = 0; i < length; ++i) {
            const double u = (static_cast<double>(i) + 0.5) / static_cast<double>(length);
            const double w = 0.5 - 0.5 * std::cos(2.0 * std::numbers::pi * u);
            sum += w * static_cast<double>(x[at + i]) *
                   std::polar(1.0, -2.0 * std::numbers::pi * hz * static_cast<double>(at + i) /
                                       rate.value());
        }
        return sum;
    };
    const std::size_t hop = length / 4;
    double hz = about;
    for (int round = 0; round < 3; ++round) {
        const double turn = std::arg(spin(from + hop, hz) * std::conj(spin(from, hz)));
        hz += turn * rate.value() / (2.0 * std::numbers::pi * static_cast<double>(hop));
    }
    return hz;
}

double cents_off(double hz, double wanted) {
    return 1200.0 * std::log2(hz / wanted);
}

std::vector<float> struck(Hertz f, Seconds length, SampleRate rate = cd) {
    PluckedString s(rate);
    s.strike(f, Decibels(-20.0), 1.0, 1);
    std::vector<float> out(static_cast<std::size_t>(to_frames(length, rate).value()));
    for (float& x : out)
        x = static_cast<float>(s.next());
    return out;
}

double rms(const std::vector<float>& x, std::size_t from, std::size_t count) {
    double sum = 0.0;
    for (std::size_t i = from; i < from + count; ++i)
        sum += static_cast<double>(x[i]) * x[i];
    return std::sqrt(sum / static_cast<double>(count));
}

// Amplitude of a partial over a Hann window.
double partial(const std::vector<float>& x, double hz, std::size_t from, std::size_t length) {
    std::complex<double> sum;
    for (std::size_t i = 0; i < length; ++i) {
        const double u = (static_cast<double>(i) + 0.5) / static_cast<double>(length);
        const double w = 0.5 - 0.5 * std::cos(2.0 * std::numbers::pi * u);
        sum += w * static_cast<double>(x[from + i]) *
               std::polar(1.0, -2.0 * std::numbers::pi * hz * static_cast<double>(i) / cd.value());
    }
    return std::abs(sum) * 4.0 / static_cast<double>(length);
}

}  // namespace

TEST_CASE("sound: every key from 40 to 88 within a cent of equal temperament [ISO 16]") {
    for (const int rate : {44100, 48000, 96000}) {
        for (int key = 40; key <= 88; key += rate == 44100 ? 1 : 8) {
            // 440 Hz times the twelfth root of two a key, not the engine's own function.
            const double wanted = 440.0 * std::pow(2.0, (key - 69) / 12.0);
            const SampleRate r(rate);
            const auto x = struck(Hertz(wanted), Seconds(0.6), r);
            const double hz = measured_hz(x, wanted, static_cast<std::size_t>(rate) / 20,
                                          static_cast<std::size_t>(rate) / 4, r);
            CAPTURE(key);
            CAPTURE(rate);
            CHECK(std::abs(cents_off(hz, wanted)) < string_pitch_error.value());
        }
    }
}

TEST_CASE("sound: a string dies away in the time that the settings say") {
    const StringSettings settings;
    for (const int key : {40, 52, 64, 76, 88}) {
        const double hz = 440.0 * std::pow(2.0, (key - 69) / 12.0);
        const auto x = struck(Hertz(hz), Seconds(1.6));
        const std::size_t window = 8820;
        const double early = partial(x, hz, 8820, window);
        const double late = partial(x, hz, 8820 + 44100, window);
        const double t60 = 60.0 / (20.0 * std::log10(early / late));  // over one second
        CAPTURE(key);
        CAPTURE(t60);
        // 7 s at 110 Hz, with the square root of the period: by hand.
        const double wanted = 7.0 * std::sqrt(110.0 / hz);
        CHECK(std::abs(t60 / wanted - 1.0) < string_decay_error);
    }
}

TEST_CASE("sound: the level asked for is the level heard, whatever the pitch") {
    for (const int key : {40, 52, 64, 76, 88}) {
        const double hz = 440.0 * std::pow(2.0, (key - 69) / 12.0);
        const auto x = struck(Hertz(hz), Seconds(0.2));
        const double db = 20.0 * std::log10(rms(x, 0, 882));
        CAPTURE(key);
        CAPTURE(db);
        CHECK(std::abs(db + 20.0) <
              string_level_error.value());  // plucked_string.h: string_level_error
    }
}
