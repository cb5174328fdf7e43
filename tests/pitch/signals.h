// Sounds with a known pitch for the tests of the tracker.
#pragma once

#include <cmath>
#include <cstdint>
#include <functional>
#include <numbers>
#include <random>
#include <vector>

#include "engine/recording/audio.h"
#include "engine/units.h"

namespace bentline::test {

// One partial: multiple of the fundamental, amplitude at the start, decay in dB a second.
struct Partial {
    double multiple;
    double amplitude;
    double decay = 0.0;
};

// A sum of partials whose fundamental follows f0(t); phases are integrated sample by sample.
inline std::vector<float> tone(double seconds, int rate, const std::function<double(double)>& f0,
                               const std::vector<Partial>& partials) {
    std::vector<float> x(static_cast<std::size_t>(std::llround(seconds * rate)));
    double turns = 0.0;
    for (std::size_t i = 0; i < x.size(); ++i) {
        const double t = static_cast<double>(i) / rate;
        double sum = 0.0;
        for (const Partial& p : partials) {
            if (p.multiple * f0(t) > 0.45 * rate) continue;
            sum += p.amplitude * std::pow(10.0, -p.decay * t / 20.0) *
                   std::sin(2.0 * std::numbers::pi * p.multiple * turns +
                            0.7 * p.multiple * p.multiple);
        }
        x[i] = static_cast<float>(sum);
        turns += f0(t) / rate;
    }
    return x;
}

// Partials 1 to n with amplitudes 0.3 / k.
inline std::vector<Partial> harmonic(int n) {
    std::vector<Partial> p;
    for (int k = 1; k <= n; ++k)
        p.push_back({static_cast<double>(k), 0.3 / k});
    return p;
}

inline Audio mono(std::vector<float> x, int rate) {
    return Audio{SampleRate(rate), Frames(0), {std::move(x)}};
}
inline Audio stereo(std::vector<float> left, std::vector<float> right, int rate) {
    return Audio{SampleRate(rate), Frames(0), {std::move(left), std::move(right)}};
}

// White noise of the given peak, same every time.
inline std::vector<float> noise(std::size_t n, float peak, unsigned seed = 1) {
    std::minstd_rand rng(seed);
    std::vector<float> x(n);
    for (float& v : x) {
        v = peak * (2.0F * static_cast<float>(rng() % 65536) / 65535.0F - 1.0F);
    }
    return x;
}

}  // namespace bentline::test
