// Runs of the path within half an octave share one low-passed stretch of sound.
#include "engine/pitch/exact_pitch.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "engine/pitch/difference.h"

namespace bentline {

namespace {

constexpr double shortest_window_seconds = 0.010;
constexpr double warm_up_seconds = 0.02;
constexpr double farthest_cents = 45.0;

// Half octaves above 20 Hz.
int band_of(Hertz f) {
    return static_cast<int>(std::floor(2.0 * std::log2(f.value() / 20.0)));
}
double top_of(int band) {
    return 20.0 * std::exp2(0.5 * (band + 1));
}

// Second-order Butterworth low-pass (bilinear transform), there and back: no delay, 6 dB down at
// the cutoff.
void low_pass_both_ways(std::vector<float>& x, double rate, double cutoff) {
    const double k = std::tan(std::numbers::pi * cutoff / rate);
    const double norm = 1.0 / (1.0 + std::numbers::sqrt2 * k + k * k);
    const double b = k * k * norm;
    const double a1 = 2.0 * (k * k - 1.0) * norm;
    const double a2 = (1.0 - std::numbers::sqrt2 * k + k * k) * norm;
    const auto run = [&](auto first, auto last) {
        double s1 = 0.0;
        double s2 = 0.0;
        for (auto it = first; it != last; ++it) {
            const double in = static_cast<double>(*it);
            const double out = b * in + s1;
            s1 = 2.0 * b * in - a1 * out + s2;
            s2 = b * in - a2 * out;
            *it = static_cast<float>(out);
        }
    };
    run(x.begin(), x.end());
    run(x.rbegin(), x.rend());
}

}  // namespace

std::vector<std::optional<ExactPoint>> exact_pitches(const WorkingSignal& sound, std::size_t margin,
                                                     Seconds hop,
                                                     std::span<const std::optional<Hertz>> path) {
    std::vector<std::optional<ExactPoint>> out(path.size());
    const double rate = sound.rate;
    const auto middle_of = [&](std::size_t i) {
        return margin +
               static_cast<std::size_t>(std::lround(static_cast<double>(i) * hop.value() * rate));
    };
    const auto warm_up = static_cast<std::size_t>(warm_up_seconds * rate);
    for (std::size_t i = 0; i < path.size();) {
        if (!path[i]) {
            ++i;
            continue;
        }
        const int band = band_of(*path[i]);
        std::size_t end = i + 1;
        while (end < path.size() && path[end] && band_of(*path[end]) == band)
            ++end;

        LagSearch search;
        search.longest = static_cast<std::size_t>(rate / top_of(band - 1)) + 12;
        search.shortest_window = static_cast<std::size_t>(shortest_window_seconds * rate);
        const std::size_t around = reach(search) + warm_up;
        const std::size_t first = middle_of(i) > around ? middle_of(i) - around : 0;
        const std::size_t last = std::min(sound.mix.size(), middle_of(end - 1) + around);
        std::vector<float> low(sound.mix.begin() + static_cast<std::ptrdiff_t>(first),
                               sound.mix.begin() + static_cast<std::ptrdiff_t>(last));
        low_pass_both_ways(low, rate, std::min(4.2 * top_of(band), 0.3 * rate));
        for (; i < end; ++i) {
            const double period = rate / path[i]->value();
            const auto dip = period_near(low, middle_of(i) - first, period, search);
            if (!dip || std::abs(1200.0 * std::log2(dip->period / period)) > farthest_cents)
                continue;
            out[i] = ExactPoint{Hertz(rate / dip->period), dip->aperiodicity};
        }
    }
    return out;
}

}  // namespace bentline
