// Candidates for the tempo and their evidence.
#include "engine/bars/tempo.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

namespace bentline {
namespace {

constexpr std::size_t window = 800;  // frames: 8 s, in which a tempo hardly drifts
constexpr std::size_t most_periods = 5;

// Weights of the evidence, fitted on generated bands of the seeds 1 to 6 and 21 to 26 (the figures
// are quoted from others). The signs are what one expects: a beat is struck, and by the bass; its
// half less; its thirds and quarters seldom by everyone; beats are alike; harmony changes on them;
// a short note leads to a beat rather than away from it.
struct Weights {
    double on = 1.3;
    double half = -0.25;
    double third = -2.5;
    double quarter = -2.6;
    double low_on = 0.55;
    double uneven = -0.5;
    double low_uneven = 0.5;
    double harmony = 8.0;
    double pickup = 0.8;
    double usual = 1.0;
};

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

double median_length(const std::vector<double>& frames) {
    std::vector<double> lengths;
    for (std::size_t i = 1; i < frames.size(); ++i)
        lengths.push_back(frames[i] - frames[i - 1]);
    const auto middle = lengths.begin() + static_cast<std::ptrdiff_t>(lengths.size() / 2);
    std::nth_element(lengths.begin(), middle, lengths.end());
    return *middle;
}

std::vector<double> every_other(const std::vector<double>& beats, std::size_t from) {
    std::vector<double> out;
    for (std::size_t i = from; i < beats.size(); i += 2)
        out.push_back(beats[i]);
    return out;
}

// Mean distance of the harmony of the beat after each place from that of the beat before it.
double harmony_change(const OnsetStrength& s, const ChromaReader& chroma,
                      const std::vector<double>& beats, double share) {
    double sum = 0.0;
    std::size_t count = 0;
    for (std::size_t i = 1; i + 2 < beats.size(); ++i) {
        const auto place = [&](std::size_t k) {
            return s.time_of(beats[k] + share * (beats[k + 1] - beats[k]));
        };
        const Chroma before = chroma.between(place(i - 1), place(i));
        const Chroma after = chroma.between(place(i), place(i + 1));
        sum += 1.0 - std::inner_product(before.begin(), before.end(), after.begin(), 0.0);
        ++count;
    }
    return count == 0 ? 0.0 : sum / static_cast<double>(count);
}

// How much more often a struck beat has a stroke half a beat before it than half a beat after it:
// long notes begin on beats, and short ones lead to them.
double pickups(const std::vector<float>& strength, const std::vector<double>& beats) {
    double sum = 0.0;
    for (std::size_t i = 1; i + 1 < beats.size(); ++i) {
        const auto at = [&](double frame) {
            const auto t = static_cast<std::size_t>(std::max(1.0, std::round(frame)));
            if (t + 1 >= strength.size()) return 0.0F;
            return std::max({strength[t - 1], strength[t], strength[t + 1]});
        };
        const float here = at(beats[i]);
        sum += std::min(here, at(0.5 * (beats[i - 1] + beats[i])));
        sum -= std::min(here, at(0.5 * (beats[i] + beats[i + 1])));
    }
    return beats.size() < 3 ? 0.0 : sum / static_cast<double>(beats.size() - 2);
}

TempoEvidence weigh(const OnsetStrength& s, const ChromaReader& chroma, const BeatPath& path,
                    const BeatSettings& settings) {
    TempoEvidence e;
    const auto& beats = path.frames;
    e.tempo = tempo_of(strength_hop * median_length(beats));
    e.on = mean_at(s.all, beats, 0.0);
    e.half = mean_at(s.all, beats, 0.5);
    e.third = mean_at(s.all, beats, 1.0 / 3.0);
    e.two_thirds = mean_at(s.all, beats, 2.0 / 3.0);
    e.quarter = 0.5 * (mean_at(s.all, beats, 0.25) + mean_at(s.all, beats, 0.75));
    e.harmony = harmony_change(s, chroma, beats, 0.0) - harmony_change(s, chroma, beats, 0.5);
    e.low_on = mean_at(s.low, beats, 0.0);
    e.pickup = pickups(s.low, beats);
    const auto even = every_other(beats, 0);
    const auto odd = every_other(beats, 1);
    e.uneven = std::abs(mean_at(s.all, even, 0.0) - mean_at(s.all, odd, 0.0));
    e.low_uneven = std::abs(mean_at(s.low, even, 0.0) - mean_at(s.low, odd, 0.0));
    e.usual = log_usual(e.tempo, settings);
    const Weights w;
    e.score = w.on * e.on + w.half * e.half + w.third * e.third + w.quarter * e.quarter +
              w.low_on * e.low_on + w.uneven * e.uneven + w.low_uneven * e.low_uneven +
              w.harmony * e.harmony + w.pickup * e.pickup + w.usual * e.usual;
    return e;
}

}  // namespace

double mean_at(const std::vector<float>& strength, const std::vector<double>& beats, double share) {
    double sum = 0.0;
    std::size_t count = 0;
    for (std::size_t i = 0; i + 1 < beats.size(); ++i) {
        const double at = beats[i] + share * (beats[i + 1] - beats[i]);
        const auto t = static_cast<std::int64_t>(std::lround(at));
        if (t < 1 || t + 1 >= static_cast<std::int64_t>(strength.size())) continue;
        const auto k = static_cast<std::size_t>(t);
        sum += std::max({0.6F * strength[k - 1], strength[k], 0.6F * strength[k + 1]});
        ++count;
    }
    return count == 0 ? 0.0 : sum / static_cast<double>(count);
}

std::vector<TempoCandidate> tempo_candidates(const OnsetStrength& s, const ChromaReader& chroma,
                                             Range<std::size_t> sounding,
                                             const BeatSettings& settings) {
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
    std::vector<TempoCandidate> found;
    for (const double p : periods) {
        BeatPath path = beat_path(s.all, sounding, tempo_of(strength_hop * p));
        if (path.frames.size() < 4) continue;
        // The same tempo from half a beat later: a band may strike its off-beats harder.
        BeatPath later;
        for (std::size_t i = 0; i + 1 < path.frames.size(); ++i) {
            later.frames.push_back(0.5 * (path.frames[i] + path.frames[i + 1]));
        }
        for (BeatPath* row : {&path, &later}) {
            TempoEvidence e = weigh(s, chroma, *row, settings);
            found.push_back({std::move(*row), e});
        }
    }
    std::stable_sort(found.begin(), found.end(),
                     [](const TempoCandidate& a, const TempoCandidate& b) {
                         return a.evidence.score > b.evidence.score;
                     });
    return found;
}

}  // namespace bentline
