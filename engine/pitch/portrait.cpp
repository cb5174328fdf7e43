// The soloist's portrait and timbre.
#include "engine/pitch/portrait.h"

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

namespace bentline {

namespace {

using Weighed = std::vector<std::pair<double, double>>;  // values and weights

double middle_of(Weighed& values) {
    std::sort(values.begin(), values.end());
    double total = 0.0;
    for (const auto& [value, weight] : values)
        total += weight;
    double seen = 0.0;
    for (const auto& [value, weight] : values) {
        seen += weight;
        if (seen >= 0.5 * total) return value;
    }
    return 0.0;
}

// The strongest hypothesis between two pitches.
const Hypothesis* strongest_in(const Moment& m, const Range<Pitch>& pitches) {
    const Hypothesis* best = nullptr;
    for (const Hypothesis& h : m.hypotheses) {
        const Pitch p = pitch_of(Hertz(h.hz));
        if (p < pitches.from || p > pitches.to) continue;
        if (!best || h.fit.strength > best->fit.strength) best = &h;
    }
    return best;
}

const Hypothesis* strongest_above_bass(const Moment& m) {
    const Hypothesis* best = nullptr;
    for (const Hypothesis& h : m.hypotheses) {
        if (h.hz < 160.0) continue;
        if (!best || h.fit.strength > best->fit.strength) best = &h;
    }
    return best;
}

Portrait portrait_from(std::span<const Hypothesis* const> seen) {
    Weighed place;
    Weighed brightness;
    Weighed first_share;
    for (const Hypothesis* h : seen) {
        const double weight = h->fit.amplitude;
        place.emplace_back(h->fit.place, weight);
        brightness.emplace_back(h->fit.brightness, weight);
        first_share.emplace_back(h->fit.first_share, weight);
    }
    return {middle_of(place), middle_of(brightness), middle_of(first_share)};
}

// Octaves and twelfths share their partials: they are no other player.
bool same_partials(double hz, double of_hz) {
    const double ratio = hz > of_hz ? hz / of_hz : of_hz / hz;
    return std::abs(ratio - std::round(ratio)) < 0.03 * ratio;
}

}  // namespace

Portrait portrait_of(std::span<const Moment> moments, KnownPitches known) {
    std::vector<const Hypothesis*> seen;
    for (std::size_t i = 0; i < known.size(); ++i) {
        if (!known[i]) continue;
        if (const Hypothesis* h = strongest_in(moments[i], *known[i])) seen.push_back(h);
    }
    if (seen.size() >= portrait_least) return portrait_from(seen);
    seen.clear();
    for (const Moment& m : moments) {
        if (const Hypothesis* h = strongest_above_bass(m)) seen.push_back(h);
    }
    return portrait_from(seen);
}

Timbre::Traits Timbre::traits_of(const Moment& moment, const Hypothesis& h) {
    const double key = (pitch_of(Hertz(h.hz)).value() - 64.0) / 12.0;
    return {h.fit.place,
            h.fit.place_spread,
            h.fit.brightness + 0.3 * key,  // a higher note has fewer partials to be bright with
            h.fit.first_share,
            h.fit.filled,
            (20.0 * std::log10(h.fit.amplitude + 1e-6) - moment.level) / 10.0};
}

std::optional<Timbre> Timbre::learn(std::span<const Moment> moments, KnownPitches known) {
    std::vector<Traits> soloist;
    std::vector<Traits> others;
    for (std::size_t i = 0; i < known.size(); ++i) {
        if (!known[i]) continue;
        const Hypothesis* own = strongest_in(moments[i], *known[i]);
        if (!own) continue;
        soloist.push_back(traits_of(moments[i], *own));
        for (const Hypothesis& h : moments[i].hypotheses) {
            if (&h == own || h.hz < 130.0 || same_partials(h.hz, own->hz)) continue;
            others.push_back(traits_of(moments[i], h));
        }
    }
    if (soloist.size() < portrait_least || others.size() < portrait_least) return std::nullopt;
    Timbre timbre;
    const auto mean = [](const std::vector<Traits>& all, std::size_t k) {
        double sum = 0.0;
        for (const Traits& t : all)
            sum += t[k];
        return sum / static_cast<double>(all.size());
    };
    const auto spread = [](const std::vector<Traits>& all, std::size_t k, double around) {
        double sum = 0.0;
        for (const Traits& t : all)
            sum += (t[k] - around) * (t[k] - around);
        return sum / static_cast<double>(all.size());
    };
    constexpr double least_variance = 0.01;  // of traits of order 1
    for (std::size_t k = 0; k < traits; ++k) {
        const double his = mean(soloist, k);
        const double theirs = mean(others, k);
        const double variance =
            least_variance + 0.5 * (spread(soloist, k, his) + spread(others, k, theirs));
        timbre.slope_[k] = (his - theirs) / variance;
        timbre.middle_[k] = 0.5 * (his + theirs);
    }
    const auto heard = static_cast<double>(soloist.size());
    timbre.share_ = 0.5 * heard / (heard + 150.0);
    return timbre;
}

double Timbre::odds(const Moment& moment, const Hypothesis& h) const {
    const Traits t = traits_of(moment, h);
    double sum = 0.0;
    for (std::size_t k = 0; k < traits; ++k)
        sum += slope_[k] * (t[k] - middle_[k]);
    return std::clamp(share_ * sum, -2.0, 0.0);
}

}  // namespace bentline
