// Candidates for the tempo and their rows of beats.
#include "engine/bars/tempo.h"

#include <algorithm>
#include <cmath>

namespace bentline {
namespace {

constexpr std::size_t window = 800;  // frames: 8 s, in which a tempo hardly drifts
constexpr std::size_t most_periods = 5;

// Mean self-likeness of the strength at each lag, over windows of 8 s.
std::vector<double> self_likeness(const std::vector<float>& x, Range<std::size_t> sounding,
                                  std::size_t lags) {
    std::vector<double> sum(lags, 0.0);
    for (std::size_t from = sounding.from; from < sounding.to; from += window / 2) {
        const std::size_t to = std::min(sounding.to, from + window);
        for (std::size_t lag = 1; lag < lags; ++lag) {
            double dot = 0.0;
            for (std::size_t i = from; i + lag < to; ++i)
                dot += static_cast<double>(x[i]) * x[i + lag];
            sum[lag] += dot;
        }
    }
    return sum;
}

std::vector<float> blurred(const std::vector<float>& x) {
    std::vector<float> out(x.size(), 0.0F);
    for (std::size_t i = 0; i < x.size(); ++i) {
        out[i] = x[i];
        if (i > 0) out[i] += 0.6F * x[i - 1];
        if (i + 1 < x.size()) out[i] += 0.6F * x[i + 1];
        if (i > 1) out[i] += 0.2F * x[i - 2];
        if (i + 2 < x.size()) out[i] += 0.2F * x[i + 2];
    }
    return out;
}

double log_usual(Tempo t, const BeatSettings& s) {
    const double octaves = std::log2(t / s.usual) / s.usual_octaves;
    return -0.5 * octaves * octaves;
}

// Periods (in frames) whose self-likeness, weighted by how usual they are, peaks.
std::vector<double> strong_periods(const OnsetStrength& s, Range<std::size_t> sounding,
                                   const BeatSettings& settings) {
    const auto longest = static_cast<std::size_t>(beat_length(settings.slowest) / strength_hop) + 3;
    const auto shortest = static_cast<std::size_t>(beat_length(settings.fastest) / strength_hop);
    const std::vector<double> like = self_likeness(blurred(s.all), sounding, longest + 2);
    std::vector<std::pair<double, double>> peaks;
    for (std::size_t lag = std::max<std::size_t>(2, shortest - 1); lag <= longest; ++lag) {
        if (like[lag] < like[lag - 1] || like[lag] < like[lag + 1]) continue;
        const Tempo t = tempo_of(strength_hop * static_cast<double>(lag));
        peaks.emplace_back(like[lag] * std::exp(0.25 * log_usual(t, settings)),
                           static_cast<double>(lag));
    }
    std::sort(peaks.rbegin(), peaks.rend());
    std::vector<double> periods;
    for (const auto& [weight, lag] : peaks) {
        if (periods.size() < most_periods) periods.push_back(lag);
    }
    return periods;
}

}  // namespace

std::vector<BeatRow> beat_rows(const Heard& heard, const BeatSettings& settings) {
    const OnsetStrength& s = heard.strength;
    const Range<std::size_t> sounding = heard.sounding;
    std::vector<double> periods;
    if (settings.tempo_hint) {
        periods = {beat_length(*settings.tempo_hint) / strength_hop};
    } else {
        const double shortest = beat_length(settings.fastest) / strength_hop;
        const double longest = beat_length(settings.slowest) / strength_hop;
        for (const double p : strong_periods(s, sounding, settings)) {
            for (const double times : {1.0, 2.0, 0.5, 1.5, 2.0 / 3.0, 3.0, 1.0 / 3.0}) {
                const double q = p * times;
                const bool near = std::any_of(periods.begin(), periods.end(), [q](double r) {
                    return std::abs(std::log(q / r)) < 0.07;
                });
                if (q >= shortest * 0.97 && q <= longest * 1.03 && !near) periods.push_back(q);
            }
        }
    }
    std::vector<BeatRow> rows;
    for (const double p : periods) {
        BeatPath path = beat_path(s.all, sounding, tempo_of(strength_hop * p));
        if (path.frames.size() < 4) continue;
        // The same tempo from half a beat later: a band may strike its off-beats harder.
        BeatRow later;
        for (std::size_t i = 0; i + 1 < path.frames.size(); ++i) {
            later.push_back(0.5 * (path.frames[i] + path.frames[i + 1]));
        }
        rows.push_back(std::move(path.frames));
        rows.push_back(std::move(later));
    }
    return rows;
}

}  // namespace bentline
