// Short spectra, their envelope, their peaks.
#include "engine/pitch/peaks.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numbers>

namespace bentline {

namespace {

constexpr double window_seconds = 0.0464;
constexpr double lowest_hz = 55.0;
constexpr double highest_hz = 6000.0;
// Peaks this far below the strongest of the frame say nothing.
constexpr float relative_floor = 1e-3F;
constexpr float absolute_floor = 1e-6F;

}  // namespace

PeakFinder::PeakFinder(double rate)
    : rate_(rate),
      window_(make_window(Window::hann,
                          good_fft_size(static_cast<std::size_t>(window_seconds * rate)))),
      fft_(window_.size()) {
    const double bin_hz = rate / static_cast<double>(window_.size());
    first_ = std::max<std::size_t>(2, static_cast<std::size_t>(lowest_hz / bin_hz));
    last_ = std::min(fft_.bins() - 3, static_cast<std::size_t>(highest_hz / bin_hz));
    // Bands of a third of an octave, at least three bins wide.
    double edge = static_cast<double>(first_);
    while (edge < static_cast<double>(last_)) {
        band_edges_.push_back(static_cast<std::size_t>(edge));
        edge = std::max(edge + 3.0, edge * std::exp2(1.0 / 3.0));
    }
    band_edges_.push_back(last_ + 1);
    windowed_.resize(window_.size());
    left_.resize(fft_.bins());
    right_.resize(fft_.bins());
    power_.resize(fft_.bins());
    envelope_.resize(fft_.bins());
}

void PeakFinder::transform(std::span<const float> in, std::vector<std::complex<float>>& out) {
    for (std::size_t i = 0; i < window_.size(); ++i)
        windowed_[i] = in[i] * window_[i];
    fft_.forward(windowed_, out);
}

// Band levels, joined by straight lines between the bands' middles.
void PeakFinder::whiten() {
    const std::size_t bands = band_edges_.size() - 1;
    std::vector<float> level(bands);
    float loudest = 0.0F;
    for (std::size_t b = 0; b < bands; ++b) {
        float sum = 0.0F;
        for (std::size_t k = band_edges_[b]; k < band_edges_[b + 1]; ++k)
            sum += power_[k];
        level[b] = std::sqrt(sum / static_cast<float>(band_edges_[b + 1] - band_edges_[b]));
        loudest = std::max(loudest, level[b]);
    }
    for (float& v : level)
        v = std::pow(v + 1e-4F * loudest + 1e-12F, -0.67F);
    const auto middle = [&](std::size_t b) {
        return 0.5F * static_cast<float>(band_edges_[b] + band_edges_[b + 1] - 1);
    };
    std::size_t b = 0;
    for (std::size_t k = first_; k <= last_; ++k) {
        const auto at = static_cast<float>(k);
        while (b + 2 < bands && at > middle(b + 1))
            ++b;
        const float from = middle(b);
        const float to = middle(std::min(b + 1, bands - 1));
        const float share = to > from ? std::clamp((at - from) / (to - from), 0.0F, 1.0F) : 0.0F;
        envelope_[k] = level[b] + share * (level[std::min(b + 1, bands - 1)] - level[b]);
    }
}

std::vector<SpectralPeak> PeakFinder::find(std::span<const float> left,
                                           std::span<const float> right, float gain_left,
                                           float gain_right) {
    assert(left.size() == size() && (right.empty() || right.size() == size()));
    const bool two = !right.empty();
    transform(left, left_);
    if (two) transform(right, right_);
    float top = 0.0F;
    for (std::size_t k = first_ - 1; k <= last_ + 1; ++k) {
        const std::complex<float> mix =
            two ? gain_left * left_[k] + gain_right * right_[k] : left_[k];
        power_[k] = std::norm(mix);
        top = std::max(top, power_[k]);
    }
    std::vector<SpectralPeak> peaks;
    // A full-scale sine on a bin of a Hann window gives size / 4.
    const float scale = 4.0F / static_cast<float>(size());
    if (top * scale * scale < absolute_floor * absolute_floor) return peaks;
    whiten();
    const float least = top * relative_floor * relative_floor;
    const double bin_hz = rate_ / static_cast<double>(size());
    for (std::size_t k = first_; k <= last_; ++k) {
        const float p = power_[k];
        if (p < least || p <= power_[k - 1] || p < power_[k + 1]) continue;
        const float a = 0.5F * std::log(power_[k - 1] + 1e-30F);
        const float b = 0.5F * std::log(p);
        const float c = 0.5F * std::log(power_[k + 1] + 1e-30F);
        const float curve = a - 2.0F * b + c;
        const float shift = curve < 0.0F ? std::clamp(0.5F * (a - c) / curve, -0.5F, 0.5F) : 0.0F;
        SpectralPeak peak;
        peak.hz =
            static_cast<float>((static_cast<double>(k) + static_cast<double>(shift)) * bin_hz);
        peak.amplitude = scale * std::exp(b - 0.25F * (a - c) * shift);
        peak.white = peak.amplitude * envelope_[k];
        if (two) {
            const float angle = std::atan2(std::abs(right_[k]), std::abs(left_[k]));
            peak.place = angle * (4.0F / std::numbers::pi_v<float>)-1.0F;
        }
        peaks.push_back(peak);
    }
    return peaks;
}

}  // namespace bentline
