// Harmonic sums over peaks.
#include "engine/pitch/salience.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace bentline {

namespace {

constexpr double alpha = 27.0;
constexpr double beta = 320.0;
constexpr int most_harmonics = 20;
constexpr double spread_cents = 45.0;
// A stiff string's partials lie the sharper the higher they are; the ear goes by the lower ones.
constexpr int telling_harmonics = 6;
// Partials of one sound agree on its pitch to this share (10 cents).
constexpr double agreement = 0.0058;

double weight(double hz, int h) {
    return (hz + alpha) / (h * hz + beta);
}

// Looks for peaks at one place after the other, upwards.
class Upwards {
  public:
    explicit Upwards(std::span<const SpectralPeak> peaks) : at_(peaks.begin()), end_(peaks.end()) {}

    // The strongest peak within `reach` of hz, or nullptr; hz - reach never falls.
    const SpectralPeak* near(double hz, double reach) {
        while (at_ != end_ && static_cast<double>(at_->hz) < hz - reach)
            ++at_;
        const SpectralPeak* best = nullptr;
        for (auto it = at_; it != end_ && static_cast<double>(it->hz) <= hz + reach; ++it) {
            if (!best || it->white > best->white) best = &*it;
        }
        return best;
    }

  private:
    std::span<const SpectralPeak>::iterator at_, end_;
};

// How far from its place a partial may lie: 35 cents, but 6 Hz where the window blurs more.
double reach_at(double hz) {
    return std::max(hz * 0.0204, 6.0);
}

// How far one partial lies from its place, as a share, and how much that counts.
struct Lean {
    double off = 0.0;
    double trust = 0.0;
};

// What most partials agree on: the weighted mean of those near the weighted median, so that another
// sound's partial among them does not count.
double agreed(std::span<Lean> leans) {
    std::sort(leans.begin(), leans.end(),
              [](const Lean& a, const Lean& b) { return a.off < b.off; });
    double all = 0.0;
    for (const Lean& l : leans)
        all += l.trust;
    double seen = 0.0;
    double median = 0.0;
    for (const Lean& l : leans) {
        seen += l.trust;
        median = l.off;
        if (seen >= 0.5 * all) break;
    }
    double sum = 0.0;
    double weight = 0.0;
    for (const Lean& l : leans) {
        if (std::abs(l.off - median) > agreement) continue;
        sum += l.off * l.trust;
        weight += l.trust;
    }
    return weight > 0.0 ? sum / weight : median;
}

}  // namespace

Salience::Salience(const PitchGrid& grid) : grid_(grid), sum_(grid.bins) {}

std::span<const float> Salience::of(std::span<const SpectralPeak> peaks) {
    std::fill(sum_.begin(), sum_.end(), 0.0F);
    const double low = frequency(grid_.lowest).value();
    const double high = frequency(grid_.pitch(grid_.bins - 1)).value();
    static const std::array<double, most_harmonics + 1> down = [] {
        std::array<double, most_harmonics + 1> d{};
        for (int h = 1; h <= most_harmonics; ++h)
            d[static_cast<std::size_t>(h)] = 1200.0 * std::log2(h);
        return d;
    }();
    const double step = grid_.step.value();
    const auto reach = static_cast<int>(spread_cents / step);
    for (const SpectralPeak& p : peaks) {
        const double hz = static_cast<double>(p.hz);
        const double cents = (pitch_of(Hertz(hz)) - grid_.lowest).value();
        for (int h = 1; h <= most_harmonics; ++h) {
            const double f = hz / h;
            if (f < low) break;
            if (f > high) continue;
            const double at = (cents - down[static_cast<std::size_t>(h)]) / step;
            const int middle = static_cast<int>(std::lround(at));
            const auto w = static_cast<float>(weight(f, h)) * p.white;
            for (int b = std::max(0, middle - reach);
                 b <= std::min(static_cast<int>(grid_.bins) - 1, middle + reach); ++b) {
                const auto off = static_cast<float>((b - at) * step / (spread_cents + step));
                const float roof = 1.0F - off * off;
                sum_[static_cast<std::size_t>(b)] += w * roof * roof;
            }
        }
    }
    return sum_;
}

HarmonicFit fit_harmonics(std::span<const SpectralPeak> peaks, double hz) {
    HarmonicFit fit;
    fit.hz = hz;
    if (peaks.empty()) return fit;
    const double top = static_cast<double>(peaks.back().hz) * 1.03;
    double white_sum = 0.0;
    double odd = 0.0;
    double first = 0.0;
    double square = 0.0;
    double plain = 0.0;
    double mean_h = 0.0;
    double place = 0.0;
    double place2 = 0.0;
    std::array<Lean, most_harmonics> leans;
    std::size_t count = 0;
    int there = 0;
    int asked = 0;
    Upwards own(peaks);
    for (int h = 1; h <= most_harmonics && h * hz < top; ++h) {
        if (h <= 8) ++asked;
        const SpectralPeak* p = own.near(h * hz, reach_at(h * hz));
        if (!p) continue;
        if (h <= 8) ++there;
        const double w = weight(hz, h) * static_cast<double>(p->white);
        const double a = static_cast<double>(p->amplitude);
        fit.strength += w;
        white_sum += static_cast<double>(p->white);
        if (h % 2 == 1) odd += static_cast<double>(p->white);
        if (h == 1) first = static_cast<double>(p->white);
        square += a * a;
        plain += a;
        mean_h += a * h;
        place += a * static_cast<double>(p->place);
        place2 += a * static_cast<double>(p->place) * static_cast<double>(p->place);
        if (h > telling_harmonics) continue;
        // A peak's error is about the same in hertz everywhere: high partials tell more.
        leans[count++] = {static_cast<double>(p->hz) / (h * hz) - 1.0,
                          static_cast<double>(p->white) * h};
    }
    if (white_sum <= 0.0) return fit;
    double half = 0.0;
    double third = 0.0;
    Upwards others(peaks);
    for (int h = 0; h < 6; ++h) {
        for (const double part : {1.0 / 3.0, 0.5, 2.0 / 3.0}) {
            const double at = (h + part) * hz;
            if (const SpectralPeak* p = others.near(at, reach_at(at))) {
                (part == 0.5 ? half : third) += static_cast<double>(p->white);
            }
        }
    }
    fit.hz = hz * (1.0 + agreed(std::span(leans).first(count)));
    fit.amplitude = std::sqrt(square);
    fit.odd_share = odd / white_sum;
    fit.between = half / white_sum;
    fit.thirds = third / white_sum;
    fit.filled = static_cast<double>(there) / asked;
    fit.first_share = first / white_sum;
    fit.brightness = std::log2(mean_h / plain);
    fit.place = place / plain;
    fit.place_spread = std::sqrt(std::max(0.0, place2 / plain - fit.place * fit.place));
    return fit;
}

}  // namespace bentline
