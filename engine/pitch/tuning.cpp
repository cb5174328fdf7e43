// Circular statistics over the steady parts of the line.
#include "engine/pitch/tuning.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <vector>

namespace bentline {

namespace {

constexpr Seconds shortest_steady{0.040};
constexpr double steady_within = 8.0;   // cents on both sides of a steady note's middle
constexpr double moving_weight = 0.02;  // of a bent or shaken note against a steady one

struct Steady {
    double cents;  // from A4
    double weight;
};

// One note of the line: consecutive voiced points without a step of half a semitone.
using NoteLine = std::vector<double>;

std::vector<NoteLine> note_lines(const PitchCurve& curve) {
    std::vector<NoteLine> notes;
    NoteLine note;
    const auto close = [&] {
        if (!note.empty()) notes.push_back(std::move(note));
        note.clear();
    };
    for (const PitchPoint& p : curve.points) {
        if (!p.f0) {
            close();
            continue;
        }
        const double c = interval(concert_a, *p.f0).value();
        if (!note.empty() && std::abs(c - note.back()) > 50.0) close();
        note.push_back(c);
    }
    close();
    return notes;
}

double quantile(NoteLine values, double share) {
    const auto at = static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
    std::nth_element(values.begin(), values.begin() + at, values.end());
    return values[static_cast<std::size_t>(at)];
}

// The steady notes; where there are few, moving ones count a little, by their median.
std::vector<Steady> steady_parts(const PitchCurve& curve) {
    const auto least = static_cast<std::size_t>(std::ceil(shortest_steady / curve.hop - 1e-9));
    std::vector<Steady> parts;
    for (const NoteLine& note : note_lines(curve)) {
        if (note.size() < std::max<std::size_t>(least, 3)) continue;
        const double middle = quantile(note, 0.5);
        const bool moves = quantile(note, 0.9) - quantile(note, 0.1) > 2.0 * steady_within;
        const double weight = std::sqrt(static_cast<double>(note.size()));
        parts.push_back({middle, moves ? moving_weight * weight : weight});
    }
    return parts;
}

double wrapped(double cents) {
    return cents - 100.0 * std::round(cents / 100.0);
}

}  // namespace

std::optional<Cents> estimate_tuning(const PitchCurve& curve) {
    const std::vector<Steady> parts = steady_parts(curve);
    if (parts.empty()) return std::nullopt;
    std::complex<double> sum = 0.0;
    for (const Steady& s : parts) {
        sum += s.weight * std::polar(1.0, 2.0 * std::numbers::pi * s.cents / 100.0);
    }
    double tuning = 100.0 * std::arg(sum) / (2.0 * std::numbers::pi);
    // Weighted median of the deviations, twice: the second time around a better centre.
    for (int round = 0; round < 2; ++round) {
        std::vector<Steady> off;
        double total = 0.0;
        for (const Steady& s : parts) {
            const double d = wrapped(s.cents - tuning);
            if (std::abs(d) > 30.0) continue;
            off.push_back({d, s.weight});
            total += s.weight;
        }
        if (off.empty()) break;
        std::sort(off.begin(), off.end(),
                  [](const Steady& a, const Steady& b) { return a.cents < b.cents; });
        // Mean of the middle half by weight: as robust as the median, finer with few notes.
        double seen = 0.0;
        double mean = 0.0;
        double used = 0.0;
        for (const Steady& s : off) {
            const double from = std::max(seen, 0.25 * total);
            const double to = std::min(seen + s.weight, 0.75 * total);
            if (to > from) {
                mean += s.cents * (to - from);
                used += to - from;
            }
            seen += s.weight;
        }
        if (used > 0.0) tuning += mean / used;
    }
    return Cents(std::clamp(wrapped(tuning), -50.0, 50.0));
}

}  // namespace bentline
