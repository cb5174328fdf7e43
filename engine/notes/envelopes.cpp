// Block energies of the sound, whole and above 3 kHz.
#include "engine/notes/envelopes.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace bentline::notes {

namespace {

constexpr double floor_power = 1e-12;

double decibels_of(double power) {
    return 10.0 * std::log10(std::max(power, floor_power));
}

}  // namespace

Envelopes::Envelopes(const LeadSignal& lead) : start_(lead.start) {
    const auto per_block = static_cast<std::size_t>(std::max(4.0, std::round(lead.rate / 1000.0)));
    block_seconds_ = static_cast<double>(per_block) / lead.rate;
    const std::size_t blocks = lead.samples.size() / per_block;
    whole_.assign(blocks + 1, 0.0);
    high_.assign(blocks + 1, 0.0);
    // Two one-pole high-passes in a row: 12 dB an octave below 3 kHz.
    const double cut = std::min(3000.0, 0.3 * lead.rate);
    const double a = std::exp(-2.0 * std::numbers::pi * cut / lead.rate);
    double low1 = 0.0;
    double low2 = 0.0;
    for (std::size_t b = 0; b < blocks; ++b) {
        double whole = 0.0;
        double high = 0.0;
        for (std::size_t i = b * per_block; i < (b + 1) * per_block; ++i) {
            const double x = static_cast<double>(lead.samples[i]);
            low1 = a * low1 + (1.0 - a) * x;
            const double once = x - low1;
            low2 = a * low2 + (1.0 - a) * once;
            const double twice = once - low2;
            whole += x * x;
            high += twice * twice;
        }
        whole_[b + 1] = whole_[b] + whole / static_cast<double>(per_block);
        high_[b + 1] = high_[b] + high / static_cast<double>(per_block);
    }
}

double Envelopes::mean(const std::vector<double>& sums, std::ptrdiff_t from,
                       std::ptrdiff_t to) const {
    const auto last = static_cast<std::ptrdiff_t>(sums.size()) - 1;
    const std::ptrdiff_t lo = std::clamp<std::ptrdiff_t>(from, 0, last);
    const std::ptrdiff_t hi = std::clamp<std::ptrdiff_t>(to, 0, last);
    if (to <= from) return 0.0;
    // Blocks outside the signal count as silent ones.
    return (sums[static_cast<std::size_t>(hi)] - sums[static_cast<std::size_t>(lo)]) /
           static_cast<double>(to - from);
}

std::ptrdiff_t Envelopes::block(double seconds) const {
    return static_cast<std::ptrdiff_t>(std::floor((seconds - start_) / block_seconds_ + 0.5));
}

double Envelopes::level(double seconds) const {
    const std::ptrdiff_t b = block(seconds);
    return std::max(-120.0, decibels_of(2.0 * mean(whole_, b - 5, b + 5)));
}

double Envelopes::rise(const std::vector<double>& sums, double seconds) const {
    const std::ptrdiff_t b = block(seconds);
    // A floor 90 dB down keeps digital silence from making every sound a burst.
    const double after = mean(sums, b, b + 6) + 1e-9;
    const double before = mean(sums, b - 15, b) + 1e-9;
    return decibels_of(after) - decibels_of(before);
}

double Envelopes::level_rise(double seconds) const {
    return rise(whole_, seconds);
}
double Envelopes::burst_rise(double seconds) const {
    return rise(high_, seconds);
}

double Envelopes::attack_start(double rough) const {
    const std::ptrdiff_t middle = block(rough);
    const auto slope = [&](std::ptrdiff_t b) {
        const auto change = [&](const std::vector<double>& sums) {
            return decibels_of(mean(sums, b, b + 4) + 1e-9) -
                   decibels_of(mean(sums, b - 4, b) + 1e-9);
        };
        return std::max(0.0, change(whole_)) + 0.5 * std::max(0.0, change(high_));
    };
    std::ptrdiff_t steepest = middle;
    double most = 0.0;
    for (std::ptrdiff_t b = middle - 20; b <= middle + 15; ++b) {
        const double s = slope(b);
        if (s > most) {
            most = s;
            steepest = b;
        }
    }
    if (most < 1.0) return rough;
    // slope(b) straddles b by 4 ms: it is steepest at a sudden attack's own block, and a gradual
    // rise is followed down to a fifth of its steepness.
    std::ptrdiff_t b = steepest;
    while (b > steepest - 12 && slope(b - 1) > 0.8 * most)
        --b;
    return start_ + static_cast<double>(b) * block_seconds_;
}

}  // namespace bentline::notes
