#include "tests/corpus/waveguide.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>

#include "tests/support/dice.h"

namespace bentline::corpus {

namespace {

constexpr double rate = 44100.0;
constexpr double pi = std::numbers::pi;
constexpr int half_taps = 12;

// One pole, in place.
void dull(std::vector<double>& x, Hertz corner) {
    const double keep = std::exp(-2.0 * pi * corner.value() / rate);
    double y = 0.0;
    for (double& v : x) {
        y = keep * y + (1.0 - keep) * v;
        v = y;
    }
}

// x less itself, later by a share of the period: what a place on the string takes away.
void comb(std::vector<double>& x, double delay) {
    const auto whole = static_cast<std::size_t>(delay);
    const double part = delay - static_cast<double>(whole);
    for (std::size_t i = x.size(); i-- > whole + 1;)
        x[i] -= (1.0 - part) * x[i - whole] + part * x[i - whole - 1];
}

// A windowed sinc for a delay of half_taps - 1 + part.
std::vector<double> fractional(double part) {
    std::vector<double> h(2 * static_cast<std::size_t>(half_taps));
    for (int i = 0; i < 2 * half_taps; ++i) {
        const double x = i - (half_taps - 1) - part;
        const double sinc = std::abs(x) > 1e-9 ? std::sin(pi * x) / (pi * x) : 1.0;
        h[static_cast<std::size_t>(i)] = sinc * (0.5 + 0.5 * std::cos(pi * x / half_taps));
    }
    return h;
}

std::vector<double> ring(const WaveguideMake& m, double f, testing::Dice dice) {
    const double period = rate / f;
    std::vector<double> out(static_cast<std::size_t>(2.2 * rate), 0.0);
    // The pluck: a step of force, rounded by the pick, with some scraping.
    std::vector<double> pluck(static_cast<std::size_t>(2.0 * period) + 64, 0.0);
    pluck[0] = 1.0;
    for (std::size_t i = 0; i < std::min<std::size_t>(pluck.size(), 90); ++i)
        pluck[i] += m.scrape * 0.1 * dice.normal();
    dull(pluck, m.pick);
    comb(pluck, std::max(2.0, m.plucked_at * period));
    std::copy(pluck.begin(), pluck.end(), out.begin());

    // The loop: one frame of delay in the loss filter, half_taps - 1 in the interpolation.
    const double whole_delay = period - 1.0 - (half_taps - 1);
    const auto line = static_cast<std::size_t>(std::floor(whole_delay));
    const std::vector<double> h = fractional(whole_delay - static_cast<double>(line));
    const double b = std::min(0.45, m.loss * std::pow(f / 200.0, 0.3));
    const double fall = m.ring.value() * std::pow(200.0 / f, 0.6);
    // What the loss filter itself takes from the fundamental does not count twice.
    const double at_f = 1.0 - b + b * std::cos(2.0 * pi * f / rate);
    const double gain = std::min(0.99999, std::pow(10.0, -3.0 / (f * fall)) / at_f);
    for (std::size_t n = 0; n < out.size(); ++n) {
        double sum = 0.0;
        const auto past = [&](std::size_t back) { return n >= back ? out[n - back] : 0.0; };
        if (n < line + 1) continue;
        for (std::size_t i = 0; i < h.size(); ++i) {
            const std::size_t back = line + i;
            sum += h[i] * (0.5 * b * (past(back) + past(back + 2)) + (1.0 - b) * past(back + 1));
        }
        out[n] += gain * sum;
    }
    comb(out, std::max(2.0, m.heard_at * period));
    return out;
}

}  // namespace

WaveguideMake draw_waveguide(std::uint64_t seed) {
    testing::Dice dice(seed ^ 0x3A7E641DULL);
    WaveguideMake m{};
    m.plucked_at = dice.between(0.06, 0.3);
    m.heard_at = dice.between(0.05, 0.3);
    m.loss = dice.between(0.02, 0.25);
    m.ring = Seconds(dice.between(1.5, 7.0));
    m.pick = Hertz(dice.between(300.0, 2500.0));
    m.scrape = dice.between(0.0, 0.6);
    m.drive = Decibels(dice.chance(0.5) ? dice.between(3.0, 24.0) : -12.0);
    m.cabinet = Hertz(dice.between(2000.0, 6000.0));
    return m;
}

std::vector<RecordedTone> waveguide_tones(const WaveguideMake& make, std::uint64_t seed) {
    testing::Dice dice(seed ^ 0x5C4A9EULL);
    std::vector<RecordedTone> tones;
    for (int key = 40; key <= 88; key += 3) {
        std::vector<double> x = ring(make, frequency(Pitch(key)).value(), dice.branch(1));
        double peak = 1e-9;
        for (const double v : x)
            peak = std::max(peak, std::abs(v));
        const double push = amplitude(make.drive) / peak;
        for (double& v : x)
            v = std::tanh(push * v + 0.15) - std::tanh(0.15);
        dull(x, make.cabinet);
        dull(x, make.cabinet);
        RecordedTone tone;
        tone.key = MidiKey(key);
        tone.samples.assign(x.begin(), x.end());
        tones.push_back(std::move(tone));
    }
    return tones;
}

}  // namespace bentline::corpus
