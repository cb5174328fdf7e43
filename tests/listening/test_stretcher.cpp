// stretcher: length, pitch, timing, stereo and exactness of slowed sound.
#include <algorithm>
#include <array>
#include <complex>
#include <numbers>
#include <vector>

#include <doctest/doctest.h>

#include "engine/listening/stretcher.h"
#include "engine/transform/fft.h"
#include "tests/listening/signals.h"

using namespace bentline;
using namespace bentline::test;

namespace {
constexpr SampleRate cd{44100};

class MemoryLine final : public FrameSource {
  public:
    explicit MemoryLine(const Audio& audio) : audio_(&audio) {}
    void read(Frames from, std::size_t count, std::span<float* const> out) override {
        for (std::size_t c = 0; c < out.size(); ++c) {
            for (std::size_t i = 0; i < count; ++i) {
                const std::int64_t at = from.value() + static_cast<std::int64_t>(i);
                const bool inside = at >= 0 && at < audio_->length().value();
                out[c][i] = inside ? audio_->channels[c][static_cast<std::size_t>(at)] : 0.0F;
            }
        }
    }

  private:
    const Audio* audio_;
};

}  // namespace

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
    struct Case {
        double hz, speed, cents;
    };
    for (const Case& c :
         {Case{82.4069, 0.5, 0}, Case{440, 0.25, 0}, Case{440, 0.5, 0}, Case{1318.51, 0.75, 0},
          Case{440, 1.5, 0}, Case{440, 1.0, 50}, Case{440, 0.5, -1200}, Case{440, 1.0, 1200}}) {
        Audio in = made(cd, 1, 44100);
        add_tone(in.channels[0], cd, c.hz, 0.3);
        const auto out = slow_down(in, c.speed, Cents(c.cents));
        REQUIRE(out.ok());
        const double wanted = c.hz * std::exp2(c.cents / 1200.0);
        const auto n = out->channels[0].size();
        const double got = measured_hz(out->channels[0], cd, wanted, n / 4, n * 3 / 4);
        CAPTURE(c.hz);
        CAPTURE(c.speed);
        CAPTURE(c.cents);
        CHECK(std::abs(1200.0 * std::log2(got / wanted)) < 0.1);
    }
}

TEST_CASE("stretcher: speed and retune change while it runs without a click") {
    // A click is a jump between samples. The tone itself moves at most 2 pi 440/44100 * 0.3 = 0.019
    // a sample, an octave up twice that; a jump of 0.06 more would be heard as a click.
    Audio in = made(cd, 1, 44100 * 2);
    add_tone(in.channels[0], cd, 440.0, 0.3);
    MemoryLine line(in);
    Stretcher s(cd, 1);
    s.start(Frames(0));
    std::vector<float> y;
    struct Step {
        double speed, cents;
    };
    for (const Step& step : {Step{1, 0}, Step{0.5, 0}, Step{0.25, 0}, Step{1, 0}, Step{1, 300},
                             Step{0.7, -200}, Step{0.7, 0}, Step{2, 0}, Step{1, 0}}) {
        s.set_speed(step.speed);
        s.set_retune(Cents(step.cents));
        std::array<float, 5000> block{};
        const std::array<float*, 1> out = {block.data()};
        s.render(line, out, block.size());
        y.insert(y.end(), block.begin(), block.end());
    }
    double jump = 0.0;
    for (std::size_t i = 1; i < y.size(); ++i)
        jump = std::max(jump, std::abs(static_cast<double>(y[i] - y[i - 1])));
    CHECK(jump < 0.08);
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

namespace {

// Spectral flatness, dB, of Hann spectra of 8192 frames from 1 to 16 kHz.
double flatness_db(const std::vector<float>& x) {
    constexpr std::size_t size = 8192;
    RealFft fft(size);
    const auto window = make_window(Window::hann, size);
    std::vector<float> frame(size);
    std::vector<std::complex<float>> spectrum(fft.bins());
    double sum = 0.0;
    int count = 0;
    for (std::size_t at = size; at + 2 * size <= x.size(); at += size) {
        for (std::size_t i = 0; i < size; ++i)
            frame[i] = window[i] * x[at + i];
        fft.forward(frame, spectrum);
        double logs = 0.0;
        double mean = 0.0;
        constexpr std::size_t first = 186;
        constexpr std::size_t last = 2972;
        for (std::size_t k = first; k < last; ++k) {
            const double p = static_cast<double>(std::norm(spectrum[k])) + 1e-20;
            logs += std::log(p) / (last - first);
            mean += p / (last - first);
        }
        sum += 10.0 / std::numbers::ln10 * (logs - std::log(mean));
        ++count;
    }
    return sum / count;
}

double product(const std::vector<float>& x, const std::vector<float>& y) {
    double sum = 0.0;
    for (std::size_t i = 8192; i + 8192 < x.size(); ++i)
        sum += static_cast<double>(x[i]) * y[i];
    return sum / static_cast<double>(x.size() - 16384);
}

}  // namespace

TEST_CASE("stretcher: slowed noise stays noise: as flat, as loud, where it stood on the stage") {
    // The power of a bin of Gaussian noise is exponentially distributed: its flatness is e to the
    // minus Euler's constant, -2.507 dB. Held bins (a warble) would take 2.6 dB off it at half
    // speed and 6.6 at a quarter. 0.15 dB: four times what 20 spectra of 1800 independent bins
    // leave open. 0.3 dB of level are not heard.
    Audio in = made(cd, 2, 44100 * 3);
    add_noise(in.channels[0], 0.1, 41);
    Audio panned = in;
    add_noise(in.channels[1], 0.05, 42);
    for (std::size_t i = 0; i < panned.channels[0].size(); ++i)
        panned.channels[1][i] = -0.5F * panned.channels[0][i];
    for (const double speed : {0.75, 0.5, 0.25}) {
        CAPTURE(speed);
        const auto out = slow_down(in, speed, Cents(0));
        REQUIRE(out.ok());
        const auto& l = out->channels[0];
        const auto& r = out->channels[1];
        CHECK(std::abs(flatness_db(l) + 10.0 / std::numbers::ln10 * std::numbers::egamma) < 0.15);
        CHECK(std::abs(10.0 * std::log10(product(l, l) / 0.01)) < 0.3);
        CHECK(std::abs(10.0 * std::log10(product(r, r) / 0.0025)) < 0.3);
        // Two noises that have nothing to do with each other stay so ...
        CHECK(std::abs(product(l, r)) < 0.03 * std::sqrt(product(l, l) * product(r, r)));
        // ... and one noise in both channels stays one noise.
        const auto one = slow_down(panned, speed, Cents(0));
        REQUIRE(one.ok());
        const auto& x = one->channels[0];
        const auto& y = one->channels[1];
        CHECK(product(x, y) / std::sqrt(product(x, x) * product(y, y)) < -0.999);
        CHECK(std::abs(10.0 * std::log10(product(y, y) / product(x, x)) + 6.0206) < 0.05);
    }
}
