// The sinc table and its weights.
#include "engine/listening/resampler.h"

#include <cmath>
#include <cstddef>
#include <numbers>

namespace bentline {

namespace {

// Modified Bessel function of order zero by its series (Abramowitz & Stegun 9.6.12).
double bessel_i0(double x) {
    double sum = 1.0;
    double term = 1.0;
    for (int k = 1; k < 60; ++k) {
        term *= (x / (2.0 * k)) * (x / (2.0 * k));
        sum += term;
    }
    return sum;
}

constexpr double kaiser_beta = 9.5;  // stop band below -90 dB
constexpr double roll_off = 0.94;  // cut-off as a share of Nyquist: leaves room for the transition

}  // namespace

ResamplerKernel::ResamplerKernel()
    : table_(static_cast<std::size_t>(crossings * per_crossing + 2)) {
    for (std::size_t i = 0; i + 1 < table_.size(); ++i) {
        const double x = static_cast<double>(i) / per_crossing;
        const double u = x / crossings;
        const double window =
            u >= 1.0 ? 0.0
                     : bessel_i0(kaiser_beta * std::sqrt(1.0 - u * u)) / bessel_i0(kaiser_beta);
        const double px = std::numbers::pi * x * roll_off;
        table_[i] = static_cast<float>(roll_off * (i == 0 ? 1.0 : std::sin(px) / px) * window);
    }
}

void ResamplerKernel::weights(double fraction, double ratio, float* w) const {
    const double scale = ratio > 1.0 ? 1.0 / ratio : 1.0;
    const int r = reach(ratio);
    float sum = 0.0F;
    for (int j = 0; j < 2 * r; ++j) {
        const double x = std::abs(static_cast<double>(j - r + 1) - fraction) * scale * per_crossing;
        const auto i = static_cast<std::size_t>(x);
        if (i + 1 >= table_.size()) {
            w[j] = 0.0F;
            continue;
        }
        const auto f = static_cast<float>(x - static_cast<double>(i));
        w[j] = table_[i] + f * (table_[i + 1] - table_[i]);
        sum += w[j];
    }
    // Exactly one at zero frequency, whatever the fraction.
    const float norm = 1.0F / sum;
    for (int j = 0; j < 2 * r; ++j)
        w[j] *= norm;
}

}  // namespace bentline
