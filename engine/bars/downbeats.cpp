// Bar lines by changes of harmony, bass and drum pattern; swing by the place of the off-beats.
#include "engine/bars/downbeats.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include "engine/bars/tempo.h"

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

// Mean 0, standard deviation 1.
void standardise(std::vector<double>& x) {
    const double n = static_cast<double>(x.size());
    const double mean = std::accumulate(x.begin(), x.end(), 0.0) / n;
    double power = 0.0;
    for (const double v : x)
        power += (v - mean) * (v - mean);
    const double spread = std::sqrt(power / n) + 1e-9;
    for (double& v : x)
        v = (v - mean) / spread;
}

// How much the harmony of the beats after each beat differs from that of the beats before it.
std::vector<double> harmony_change(const OnsetStrength& s, const ChromaReader& chroma,
                                   const std::vector<double>& beats) {
    std::vector<double> change(beats.size(), 0.0);
    const auto time = [&](std::size_t i) { return s.time_of(beats[i]); };
    for (std::size_t i = 1; i + 1 < beats.size(); ++i) {
        const std::size_t reach = std::min<std::size_t>({2, i, beats.size() - 1 - i});
        const Chroma before = chroma.between(time(i - reach), time(i));
        const Chroma after = chroma.between(time(i), time(i + reach));
        change[i] = 1.0 - std::inner_product(before.begin(), before.end(), after.begin(), 0.0);
    }
    return change;
}

// Means over a beat and its neighbours two beats away.
std::vector<double> over_every_other(const std::vector<double>& x) {
    std::vector<double> mean(x.size());
    for (std::size_t i = 0; i < x.size(); ++i) {
        const double before = i >= 2 ? x[i - 2] : x[i];
        const double after = i + 2 < x.size() ? x[i + 2] : x[i];
        mean[i] = 0.25 * before + 0.5 * x[i] + 0.25 * after;
    }
    return mean;
}

}  // namespace

Downbeats find_downbeats(const OnsetStrength& s, const ChromaReader& chroma,
                         const std::vector<double>& beats, const std::vector<int>& choices) {
    std::vector<double> harmony = harmony_change(s, chroma, beats);
    std::vector<double> low;
    std::vector<double> high;
    for (const double b : beats) {
        low.push_back(peak_near(s.low, b));
        high.push_back(peak_near(s.high, b));
    }
    for (auto* row : {&harmony, &low, &high})
        standardise(*row);
    // The hi-hat and the snare close beats two and four, so a bar begins where they do not. In a
    // bar of an even number of beats that tells odd beats from even ones, no more: which of the odd
    // ones begins the bar is for harmony and bass to say.
    const std::vector<double> even_high = over_every_other(high);
    std::vector<double> plain(beats.size());
    std::vector<double> even(beats.size());
    for (std::size_t i = 0; i < beats.size(); ++i) {
        plain[i] = harmony[i] + 0.5 * low[i] - 0.4 * high[i];
        even[i] = harmony[i] + 0.5 * low[i] - 0.4 * even_high[i];
    }
    standardise(plain);
    standardise(even);

    Downbeats best;
    best.score = -1e9;
    for (const int per_bar : choices) {
        const auto m = static_cast<std::size_t>(per_bar);
        const std::vector<double>& sum = per_bar % 2 == 0 ? even : plain;
        for (std::size_t first = 0; first < m && first < beats.size(); ++first) {
            double on = 0.0;
            std::size_t count = 0;
            for (std::size_t i = first; i < sum.size(); i += m, ++count)
                on += sum[i];
            const double score = on / std::sqrt(static_cast<double>(count));
            if (score > best.score) best = {per_bar, first, score};
        }
    }
    return best;
}

std::optional<double> off_beat(const OnsetStrength& s, const std::vector<double>& beats) {
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
    // The densest place, blurred by 2.5 % of a beat.
    const auto blurred = [&](std::size_t i) {
        double sum = 0.0;
        for (int d = -10; d <= 10; ++d) {
            const auto k = static_cast<int>(i) + d;
            if (k >= 0 && k < static_cast<int>(bins)) {
                sum += histogram[static_cast<std::size_t>(k)] * std::exp(-0.5 * d * d / 25.0);
            }
        }
        return sum;
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

bool in_three(const OnsetStrength& s, const std::vector<double>& beats) {
    const double third = mean_at(s.all, beats, 1.0 / 3.0);
    const double two_thirds = mean_at(s.all, beats, 2.0 / 3.0);
    const double half = mean_at(s.all, beats, 0.5);
    return third > 0.45 * two_thirds && third > 1.5 * half && two_thirds > 1.5 * half;
}

}  // namespace bentline
