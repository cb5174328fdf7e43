// Test tones whose pitch is known exactly: sines, glides, plucked strings of summed partials,
// noise.
//
// Every function returns mono samples at `rate`; audio_of() wraps them for the engine. A line of
// pitch is given as a function from seconds since the tone's first sample to its sounding
// frequency; phases are summed sample by sample, so the frequency at any time is the line's own,
// not an approximation.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <functional>
#include <numbers>
#include <utility>
#include <vector>

#include "engine/recording/audio.h"
#include "engine/units.h"
#include "tests/support/dice.h"

namespace bentline::testing {

using Line = std::function<Hertz(Seconds)>;

inline std::size_t sample_count(Seconds length, SampleRate rate) {
    return static_cast<std::size_t>(to_frames(length, rate).value());
}

inline Line steady(Hertz f) {
    return [f](Seconds) { return f; };
}
// From `from` to `to` over `length`, even in cents.
inline Line even_glide(Hertz from, Hertz to, Seconds length) {
    return [=](Seconds t) {
        const double share = std::clamp(t / length, 0.0, 1.0);
        return from * std::exp2(share * std::log2(to / from));
    };
}
// Around `centre`, `depth` to each side, `vibrato_rate` cycles a second, rising first.
inline Line shaken(Hertz centre, Cents depth, Hertz vibrato_rate) {
    return [=](Seconds t) {
        const double swing = std::sin(2.0 * std::numbers::pi * vibrato_rate.value() * t.value());
        return centre * std::exp2(depth.value() * swing / 1200.0);
    };
}

// A sine that follows `line`, peak `peak`.
inline std::vector<float> sine(const Line& line, Seconds length, SampleRate rate,
                               double peak = 0.5) {
    std::vector<float> out(sample_count(length, rate));
    double phase = 0.0;
    for (std::size_t i = 0; i < out.size(); ++i) {
        out[i] = static_cast<float>(peak * std::sin(phase));
        const Seconds t = to_seconds(Frames(static_cast<std::int64_t>(i)), rate);
        phase += 2.0 * std::numbers::pi * line(t).value() / rate.value();
    }
    return out;
}
inline std::vector<float> sine(Hertz f, Seconds length, SampleRate rate, double peak = 0.5) {
    return sine(steady(f), length, rate, peak);
}

// How a string sounds. Defaults: a clean electric guitar's middle strings.
struct StringSound {
    double peak = 0.5;         // of the sum, roughly, at the pluck
    double plucked_at = 0.18;  // share of the string's length from the bridge, 0 to 0.5: partials
                               // go as sin(n pi p) / n^2 (ideal plucked string; Fletcher & Rossing)
    double stiffness = 0.0;    // B: partial n sounds at n f0 sqrt(1 + B n^2); 0: exactly harmonic
    Seconds decay{0.9};        // of the fundamental, to 1/e
    double decay_growth = 0.35;  // partial n decays (1 + growth (n - 1)) times as fast
    Seconds attack{0.002};       // cosine rise
    Seconds damping{0.01};       // cosine fall at the end
    int partials = 24;           // those above 0.45 of the sample rate are left out
};

inline std::vector<float> plucked(const Line& line, Seconds length, SampleRate rate,
                                  const StringSound& sound = {}) {
    constexpr double pi = std::numbers::pi;
    std::vector<double> sum(sample_count(length, rate), 0.0);
    double total = 0.0;
    for (int n = 1; n <= sound.partials; ++n) {
        total += std::abs(std::sin(n * pi * sound.plucked_at)) / (n * n);
    }
    for (int n = 1; n <= sound.partials; ++n) {
        const double stretch = n * std::sqrt(1.0 + sound.stiffness * n * n);
        const double amount = sound.peak * std::sin(n * pi * sound.plucked_at) / (n * n * total);
        const double fall = (1.0 + sound.decay_growth * (n - 1)) / sound.decay.value();
        double phase = 0.37 * n;  // partials that all start at phase 0 would make one sharp click
        for (std::size_t i = 0; i < sum.size(); ++i) {
            const Seconds t = to_seconds(Frames(static_cast<std::int64_t>(i)), rate);
            const double f = stretch * line(t).value();
            if (f > 0.45 * rate.value()) break;
            sum[i] += amount * std::exp(-fall * t.value()) * std::sin(phase);
            phase += 2.0 * pi * f / rate.value();
        }
    }
    const double end = length.value();
    std::vector<float> out(sum.size());
    for (std::size_t i = 0; i < sum.size(); ++i) {
        const double t = to_seconds(Frames(static_cast<std::int64_t>(i)), rate).value();
        const double rise = std::min(1.0, t / sound.attack.value());
        const double fall = std::min(1.0, (end - t) / sound.damping.value());
        out[i] = static_cast<float>(sum[i] * 0.25 * (1.0 - std::cos(pi * rise)) *
                                    (1.0 - std::cos(pi * fall)));
    }
    return out;
}
inline std::vector<float> plucked(Hertz f, Seconds length, SampleRate rate,
                                  const StringSound& sound = {}) {
    return plucked(steady(f), length, rate, sound);
}

// White normal noise of RMS `level` re full scale.
inline std::vector<float> noise(Decibels level, Seconds length, SampleRate rate,
                                std::uint64_t seed) {
    Dice dice(seed);
    const double rms = amplitude(level);
    std::vector<float> out(sample_count(length, rate));
    for (float& x : out)
        x = static_cast<float>(rms * dice.normal());
    return out;
}
// What a quiet converter leaves behind.
inline std::vector<float> floor_noise(Seconds length, SampleRate rate, std::uint64_t seed = 1) {
    return noise(Decibels(-90.0), length, rate, seed);
}

// Adds `part` to `whole` from time `at` on, lengthening it as needed.
inline void mix_in(std::vector<float>& whole, const std::vector<float>& part, Seconds at,
                   SampleRate rate) {
    const std::size_t first = sample_count(at, rate);
    if (whole.size() < first + part.size()) whole.resize(first + part.size(), 0.0F);
    for (std::size_t i = 0; i < part.size(); ++i)
        whole[first + i] += part[i];
}

inline Audio audio_of(std::vector<float> mono, SampleRate rate, Frames start = Frames(0)) {
    Audio a{rate, start, {}};
    a.channels.push_back(std::move(mono));
    return a;
}
inline Audio stereo_of(std::vector<float> left, std::vector<float> right, SampleRate rate) {
    Audio a{rate, Frames(0), {}};
    a.channels.push_back(std::move(left));
    a.channels.push_back(std::move(right));
    return a;
}

}  // namespace bentline::testing
