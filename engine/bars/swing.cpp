// Swing by the place of the off-beats.
#include "engine/bars/swing.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace bentline {
namespace {

float peak_near(const std::vector<float>& x, double frame) {
    const auto t = std::lround(frame);
    float most = 0.0F;
    for (auto k = t - 2; k <= t + 2; ++k) {
        if (k >= 0 && k < static_cast<long>(x.size()))
            most = std::max(most, x[static_cast<std::size_t>(k)]);
    }
    return most;
}

// How usual an off-beat's place is: straight eighths are played at any tempo; what swings lies near
// the usual ratio, within a factor of 1.5 more often than not.
double usual(double share, Seconds beat) {
    constexpr double spread = 0.45;  // of the ratio's logarithm
    constexpr double even = 0.03;    // of a beat: who plays even eighths
    const double z = std::log(share / (1.0 - share) / usual_swing(beat)) / spread;
    const double e = (share - 0.5) / even;
    return std::max(std::exp(-0.5 * z * z), std::exp(-0.5 * e * e));
}

}  // namespace

double usual_swing(Seconds beat) {
    constexpr Seconds short_note{0.100};
    return std::clamp(beat / short_note - 1.0, 1.0, 3.5);
}

std::optional<double> off_beat(const OnsetStrength& s, const BeatRow& beats) {
    constexpr double from = 0.40;
    constexpr double to = 0.80;
    constexpr std::size_t bins = 80;
    std::array<double, bins> histogram{};
    double total = 0.0;
    double on_beats = 0.0;
    for (std::size_t i = 0; i + 1 < beats.size(); ++i) {
        const double length = beats[i + 1] - beats[i];
        on_beats += peak_near(s.all, beats[i]);
        const auto first = static_cast<std::size_t>(std::max(1.0, beats[i] + from * length));
        const auto last = static_cast<std::size_t>(std::max(1.0, beats[i] + to * length));
        for (std::size_t t = first; t <= last && t + 1 < s.size(); ++t) {
            const float x = s.all[t];
            if (x <= 0.0F || x < s.all[t - 1] || x <= s.all[t + 1]) continue;
            const double curve = s.all[t - 1] - 2.0 * x + s.all[t + 1];
            const double frame = static_cast<double>(t) +
                                 (curve < 0 ? 0.5 * (s.all[t - 1] - s.all[t + 1]) / curve : 0.0);
            const double share = (frame - beats[i]) / length;
            if (share < from || share >= to) continue;
            histogram[static_cast<std::size_t>((share - from) / (to - from) * bins)] += x;
            total += x;
        }
    }
    // Hardly anything between the beats.
    if (total < 0.08 * on_beats) return std::nullopt;
    const Seconds beat = strength_hop * median_length(beats);
    // The densest place, blurred by 2.5 % of a beat, among those that are usual.
    const auto blurred = [&](std::size_t i) {
        double sum = 0.0;
        for (int d = -10; d <= 10; ++d) {
            const auto k = static_cast<int>(i) + d;
            if (k >= 0 && k < static_cast<int>(bins)) {
                sum += histogram[static_cast<std::size_t>(k)] * std::exp(-0.5 * d * d / 25.0);
            }
        }
        return sum * usual(from + (to - from) * (static_cast<double>(i) + 0.5) / bins, beat);
    };
    std::size_t at = 0;
    for (std::size_t i = 0; i < bins; ++i) {
        if (blurred(i) > blurred(at)) at = i;
    }
    // The mean around it.
    double weight = 0.0;
    double mean = 0.0;
    for (int d = -12; d <= 12; ++d) {
        const auto k = static_cast<int>(at) + d;
        if (k < 0 || k >= static_cast<int>(bins)) continue;
        weight += histogram[static_cast<std::size_t>(k)];
        mean += histogram[static_cast<std::size_t>(k)] * (k + 0.5);
    }
    return from + (to - from) * mean / (weight * bins);
}

}  // namespace bentline
