// Dynamic programming over beat times and beat lengths.
#include "engine/bars/beat_path.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

namespace bentline {
namespace {

constexpr float impossible = -std::numeric_limits<float>::infinity();

// The strength, smoothed over what players' timing and the frames blur, less its mean.
std::vector<float> evidence(const std::vector<float>& strength) {
    static constexpr float kernel[] = {0.1F, 0.6F, 1.0F, 0.6F, 0.1F};
    std::vector<float> smooth(strength.size(), 0.0F);
    double sum = 0.0;
    for (std::size_t i = 0; i < smooth.size(); ++i) {
        for (std::size_t k = 0; k < 5; ++k) {
            if (i + k >= 2 && i + k - 2 < strength.size())
                smooth[i] += kernel[k] * strength[i + k - 2];
        }
        // Twice as strong is not twice as surely a beat.
        smooth[i] = std::sqrt(smooth[i]);
        sum += smooth[i];
    }
    const auto mean =
        static_cast<float>(sum / static_cast<double>(std::max<std::size_t>(1, smooth.size())));
    for (float& x : smooth)
        x -= mean;
    return smooth;
}

// A peak's place between the frames, by a parabola through it and its neighbours.
double between_frames(const std::vector<float>& x, std::size_t i) {
    if (i == 0 || i + 1 >= x.size()) return static_cast<double>(i);
    const double curve = x[i - 1] - 2.0 * x[i] + x[i + 1];
    if (curve >= -1e-9) return static_cast<double>(i);
    return static_cast<double>(i) + std::clamp(0.5 * (x[i - 1] - x[i + 1]) / curve, -0.5, 0.5);
}

}  // namespace

BeatPath beat_path(const std::vector<float>& strength, Range<std::size_t> sounding, Tempo tempo,
                   const PathSettings& settings) {
    const double centre = beat_length(tempo) / strength_hop;
    const auto shortest =
        static_cast<std::size_t>(std::max(2.0, std::floor(centre * (1.0 - settings.wander))));
    const auto longest = static_cast<std::size_t>(std::ceil(centre * (1.0 + settings.wander)));
    const std::size_t lengths = longest - shortest + 1;
    const std::size_t end = std::min(sounding.to, strength.size());
    if (sounding.from + 2 * longest >= end) return {};
    const std::vector<float> gain = evidence(strength);

    // cost[from * lengths + to]: of a change of length.
    std::vector<float> cost(lengths * lengths);
    for (std::size_t a = 0; a < lengths; ++a) {
        for (std::size_t b = 0; b < lengths; ++b) {
            const double la = static_cast<double>(shortest + a);
            const double lb = static_cast<double>(shortest + b);
            const double usual =
                std::max(settings.unevenness, 0.7 / centre);  // a frame is no change
            const double z = std::log(lb / la) / usual;
            const double off = std::log(lb / centre) / settings.wander;
            cost[a * lengths + b] = static_cast<float>(0.25 * z * z + 0.05 * off * off);
        }
    }
    // best[t * lengths + l]: of a row that ends with a beat at t, l after the one before.
    std::vector<float> best(end * lengths, impossible);
    std::vector<std::uint16_t> from(end * lengths, 0);
    constexpr std::uint16_t first_beat = 0xFFFF;
    for (std::size_t t = sounding.from; t < end; ++t) {
        for (std::size_t l = 0; l < lengths; ++l) {
            const std::size_t length = shortest + l;
            const std::size_t here = t * lengths + l;
            if (t < sounding.from + longest) {
                best[here] = gain[t];
                from[here] = first_beat;
            }
            if (t < sounding.from + length) continue;
            const float* before = &best[(t - length) * lengths];
            for (std::size_t k = 0; k < lengths; ++k) {
                const float sum = before[k] + gain[t] - cost[k * lengths + l];
                if (sum > best[here]) {
                    best[here] = sum;
                    from[here] = static_cast<std::uint16_t>(k);
                }
            }
        }
    }
    std::size_t at = (end - longest) * lengths;
    for (std::size_t i = at; i < best.size(); ++i) {
        if (best[i] > best[at]) at = i;
    }
    BeatPath path;
    double sum = 0.0;
    for (std::size_t t = at / lengths, l = at % lengths;;) {
        path.frames.push_back(between_frames(gain, t));
        sum += gain[t];
        const std::uint16_t k = from[t * lengths + l];
        if (k == first_beat) break;
        t -= shortest + l;
        l = k;
    }
    std::reverse(path.frames.begin(), path.frames.end());
    path.score = sum / static_cast<double>(path.frames.size());
    return path;
}

}  // namespace bentline
