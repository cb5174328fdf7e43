// Normalised cross-correlation over growing multiples of the period.
#include "tests/corpus/repetition.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <vector>

namespace bentline::corpus {

namespace {

double likeness(std::span<const float> x, std::size_t lag) {
    double cross = 0.0;
    double first = 0.0;
    double second = 0.0;
    for (std::size_t i = 0; i + lag < x.size(); ++i) {
        const double a = x[i];
        const double b = x[i + lag];
        cross += a * b;
        first += a * a;
        second += b * b;
    }
    return first > 0.0 && second > 0.0 ? cross / std::sqrt(first * second) : 0.0;
}

struct Peak {
    double lag;
    double height;
};

// The best lag in [centre (1 - width), centre (1 + width)].
std::optional<Peak> best_lag(std::span<const float> x, double centre, double width) {
    const auto low = static_cast<std::size_t>(std::max(2.0, std::floor(centre * (1.0 - width))));
    const auto high = static_cast<std::size_t>(std::ceil(centre * (1.0 + width)));
    if (high + 2 >= x.size()) return std::nullopt;
    std::vector<double> value;
    for (std::size_t lag = low - 1; lag <= high + 1; ++lag)
        value.push_back(likeness(x, lag));
    std::size_t best = 1;
    for (std::size_t i = 1; i + 1 < value.size(); ++i) {
        if (value[i] > value[best]) best = i;
    }
    const double a = value[best - 1];
    const double b = value[best];
    const double c = value[best + 1];
    const double curve = a - 2.0 * b + c;
    const double shift = curve < 0.0 ? std::clamp(0.5 * (a - c) / curve, -0.5, 0.5) : 0.0;
    return Peak{static_cast<double>(low - 1 + best) + shift, b};
}

}  // namespace

std::vector<float> low_partials(std::span<const float> x, SampleRate rate, Hertz f0) {
    std::vector<double> y(x.begin(), x.end());
    const double corner = std::min(5.3 * f0.value(), 0.45 * rate.value());
    const double w = 2.0 * std::numbers::pi * corner / rate.value();
    for (int stage = 0; stage < 3; ++stage) {
        // Pole pairs of a sixth-order Butterworth; low-pass of the audio equaliser cookbook.
        const double q = 0.5 / std::cos(std::numbers::pi * (2 * stage + 1) / 12.0);
        const double alpha = std::sin(w) / (2.0 * q);
        const double b = (1.0 - std::cos(w)) / 2.0 / (1.0 + alpha);
        const double a1 = -2.0 * std::cos(w) / (1.0 + alpha);
        const double a2 = (1.0 - alpha) / (1.0 + alpha);
        double x1 = 0.0, x2 = 0.0, y1 = 0.0, y2 = 0.0;
        for (double& v : y) {
            const double out = b * (v + 2.0 * x1 + x2) - a1 * y1 - a2 * y2;
            x2 = x1;
            x1 = v;
            y2 = y1;
            y1 = out;
            v = out;
        }
    }
    std::vector<float> out(y.size());
    std::transform(y.begin(), y.end(), out.begin(), [](double v) { return static_cast<float>(v); });
    return out;
}

std::optional<Hertz> repetition_rate(std::span<const float> x, SampleRate rate, Hertz expected,
                                     Cents reach) {
    double period = rate.value() / expected.value();
    const double size = static_cast<double>(x.size());
    if (size < 2.5 * period) return std::nullopt;
    double width = std::exp2(reach.value() / 1200.0) - 1.0;
    const int most =
        std::max(1, static_cast<int>(std::min(0.02 * expected.value(), 0.45 * size / period)));
    double height = 0.0;
    for (int periods = 1;; periods = std::min(2 * periods, most)) {
        const auto peak = best_lag(x, period * periods, width);
        if (!peak) return std::nullopt;
        period = peak->lag / periods;
        height = peak->height;
        if (periods == most) break;
        // The next search stays within half a period's share, so that it cannot slip to another
        // one.
        width = std::min(width, 0.25 / (2.0 * periods));
    }
    if (height < 0.7) return std::nullopt;
    return Hertz(rate.value() / period);
}

}  // namespace bentline::corpus
