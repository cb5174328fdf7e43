// Reading the network's chances at any time and pitch.
#include <algorithm>
#include <cmath>

#include "engine/pitch/lead_net.h"

namespace bentline {

namespace {

constexpr std::size_t P = lead_pitches;
constexpr Cents bin_step{100.0 / static_cast<double>(map_per_semitone)};

struct Around {
    std::size_t first, second;
    double share;  // how near to the second
};

Around moments_around(Seconds since_start, std::size_t frames) {
    const double at = std::clamp(since_start / map_hop, 0.0, static_cast<double>(frames - 1));
    const auto first = static_cast<std::size_t>(at);
    return {first, std::min(first + 1, frames - 1), at - std::floor(at)};
}

}  // namespace

double LeadView::sounds(Seconds since_start, Pitch p) const {
    const double at = std::round((p - lead_lowest) / bin_step);
    if (!(at >= 0.0 && at < static_cast<double>(P))) return 0.0;
    const auto bin = static_cast<std::size_t>(at);
    const auto [first, second, share] = moments_around(since_start, frames);
    double sum = 0.0;
    for (std::size_t b = bin > 0 ? bin - 1 : 0; b < std::min(P, bin + 2); ++b) {
        sum += (1.0 - share) * static_cast<double>(chances[first * row + b]) +
               share * static_cast<double>(chances[second * row + b]);
    }
    return sum;
}

double LeadView::rests(Seconds since_start) const {
    const auto [first, second, share] = moments_around(since_start, frames);
    return (1.0 - share) * static_cast<double>(chances[first * row + P]) +
           share * static_cast<double>(chances[second * row + P]);
}

double LeadView::sounds_outside(Seconds since_start, Pitch low, Pitch high) const {
    const auto [first, second, share] = moments_around(since_start, frames);
    double sum = 0.0;
    for (std::size_t b = 0; b < P; ++b) {
        const Pitch p = lead_lowest + bin_step * static_cast<double>(b);
        if (p >= low && p <= high) continue;
        sum += (1.0 - share) * static_cast<double>(chances[first * row + b]) +
               share * static_cast<double>(chances[second * row + b]);
    }
    return sum;
}

std::vector<Pitch> LeadView::likely(Seconds since_start, double least) const {
    const auto [first, second, share] = moments_around(since_start, frames);
    const float* at = chances.data() + (share < 0.5 ? first : second) * row;
    std::vector<Pitch> out;
    for (std::size_t b = 1; b + 1 < P; ++b) {
        if (at[b] < at[b - 1] || at[b] <= at[b + 1]) continue;
        const float sum = at[b - 1] + at[b] + at[b + 1];
        if (static_cast<double>(sum) < least) continue;
        const float lean = (at[b + 1] - at[b - 1]) / sum;
        out.push_back(lead_lowest +
                      bin_step * (static_cast<double>(b) + static_cast<double>(lean)));
    }
    return out;
}

}  // namespace bentline
