// Made signals for the tests of listening: tones, clicks, noise, and simple measurements on them.
#pragma once

#include <cmath>
#include <cstdint>
#include <numbers>
#include <vector>

#include "engine/recording/audio.h"

namespace bentline::test {

inline Audio made(SampleRate rate, int channels, std::size_t frames) {
    Audio a{rate, Frames(0), {}};
    a.channels.assign(static_cast<std::size_t>(channels), std::vector<float>(frames, 0.0F));
    return a;
}

// The frames [from, to) of `whole`, where they lie in it.
inline Audio part_of(const Audio& whole, std::size_t from, std::size_t to) {
    Audio part{whole.rate, whole.start + Frames(static_cast<std::int64_t>(from)), {}};
    for (const auto& c : whole.channels)
        part.channels.emplace_back(c.begin() + static_cast<std::ptrdiff_t>(from),
                                   c.begin() + static_cast<std::ptrdiff_t>(to));
    return part;
}

inline void add_tone(std::vector<float>& x, SampleRate rate, double hz, double amplitude,
                     double phase = 0.0) {
    for (std::size_t i = 0; i < x.size(); ++i) {
        x[i] += static_cast<float>(
            amplitude *
            std::sin(phase + 2.0 * std::numbers::pi * hz * static_cast<double>(i) / rate.value()));
    }
}

// White noise of a given rms from a linear congruential generator (Knuth's MMIX constants).
inline void add_noise(std::vector<float>& x, double rms, std::uint64_t seed) {
    std::uint64_t s = seed;
    for (float& v : x) {
        s = s * 6364136223846793005ULL + 1442695040888963407ULL;
        const double u = static_cast<double>(s >> 11U) / 9007199254740992.0 * 2.0 - 1.0;
        v += static_cast<float>(u * rms * std::numbers::sqrt3);
    }
}

// Frequency of a steady tone near `about`: phase advance between two windowed halves of [from, to).
inline double measured_hz(const std::vector<float>& x, SampleRate rate, double about,
                          std::size_t from, std::size_t to) {
    const std::size_t n = (to - from) / 2;
    const auto phase = [&](std::size_t at) {
        double re = 0.0;
        double im = 0.0;
        for (std::size_t i = 0; i < n; ++i) {
            const double w =
                0.5 - 0.5 * std::cos(2.0 * std::numbers::pi * (static_cast<double>(i) + 0.5) /
                                     static_cast<double>(n));
            const double p =
                2.0 * std::numbers::pi * about * static_cast<double>(at + i) / rate.value();
            re += w * x[at + i] * std::cos(p);
            im -= w * x[at + i] * std::sin(p);
        }
        return std::atan2(im, re);
    };
    double d = phase(from + n) - phase(from);
    d -= 2.0 * std::numbers::pi * std::nearbyint(d / (2.0 * std::numbers::pi));
    return about + d * rate.value() / (2.0 * std::numbers::pi * static_cast<double>(n));
}

}  // namespace bentline::test
