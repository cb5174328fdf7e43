// support: the test tones have the pitch, level and length that they claim.
#include <cmath>
#include <vector>

#include <doctest/doctest.h>

#include "tests/support/tones.h"

using namespace bentline;
using namespace bentline::testing;

namespace {
constexpr SampleRate rate{44100};

// Upward zero crossings per second between the first and the last, interpolated: exact for a sine.
double crossing_rate(const std::vector<float>& x) {
    double first = -1.0;
    double last = -1.0;
    int count = 0;
    for (std::size_t i = 1; i < x.size(); ++i) {
        if (x[i - 1] < 0.0F && x[i] >= 0.0F) {
            const double a = x[i - 1];
            const double b = x[i];
            last = static_cast<double>(i - 1) + a / (a - b);
            if (count++ == 0) first = last;
        }
    }
    return (count - 1) * rate.value() / (last - first);
}
}  // namespace

TEST_CASE("support: a 440 Hz sine crosses zero 440 times a second, peak as asked") {
    const auto x = sine(440.0_Hz, 1.0_s, rate, 0.25);
    CHECK(x.size() == 44100);
    CHECK(crossing_rate(x) == doctest::Approx(440.0).epsilon(1e-5));
    float peak = 0.0F;
    for (float v : x)
        peak = std::max(peak, std::abs(v));
    CHECK(peak == doctest::Approx(0.25).epsilon(1e-3));
}

TEST_CASE("support: an even glide of an octave passes sqrt(2) half way [Ellis's cents]") {
    const Line line = even_glide(220.0_Hz, 440.0_Hz, 1.0_s);
    CHECK(line(0.5_s).value() == doctest::Approx(220.0 * std::sqrt(2.0)));
    CHECK(line(2.0_s).value() == doctest::Approx(440.0));
}

TEST_CASE("support: a plucked tone repeats after one period") {
    // 441 Hz at 44.1 kHz: a period of exactly 100 samples.
    StringSound sound;
    sound.decay = 1e6_s;
    const auto x = plucked(441.0_Hz, 0.5_s, rate, sound);
    for (std::size_t i = 2000; i < 4000; ++i) {
        CHECK(x[i] == doctest::Approx(x[i + 100]).epsilon(1e-3));
    }
}

TEST_CASE("support: floor noise lies at -90 dBFS") {
    double power = 0.0;
    const auto x = floor_noise(1.0_s, rate);
    for (float v : x)
        power += static_cast<double>(v) * v;
    CHECK(10.0 * std::log10(power / static_cast<double>(x.size())) ==
          doctest::Approx(-90.0).epsilon(0.002));
}

TEST_CASE("support: dice give the same numbers from the same seed, others from another") {
    Dice a(5);
    Dice b(5);
    Dice c(6);
    CHECK(a.next() == b.next());
    CHECK(a.unit() == b.unit());
    CHECK(a.next() != c.next());
    double sum = 0.0;
    double squares = 0.0;
    for (int i = 0; i < 10000; ++i) {
        const double n = a.normal();
        sum += n;
        squares += n * n;
    }
    CHECK(std::abs(sum / 10000) < 0.04);  // four standard errors of 0.01
    CHECK(squares / 10000 == doctest::Approx(1.0).epsilon(0.06));
}
