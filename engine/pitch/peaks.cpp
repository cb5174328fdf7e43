// Short spectra, their envelope, their peaks.
#include "engine/pitch/peaks.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numbers>

#include "engine/transform/fft.h"

namespace bentline {

namespace {

constexpr double window_seconds = 0.0464;
constexpr double lowest_hz = 55.0;
constexpr double highest_hz = 6000.0;
// Peaks this far below the strongest of the frame say nothing.
constexpr float relative_floor = 1e-3F;
constexpr float absolute_floor = 1e-6F;

BENTLINE_WIDE_LANES
void window_eight(const float* const* from, const float* window, std::size_t n, float* out) {
    for (std::size_t i = 0; i < n; ++i) {
        for (std::size_t k = 0; k < lanes; ++k)
            out[lanes * i + k] = from[k][i] * window[i];
    }
}

// Of rows from `first` to `end`.
BENTLINE_WIDE_LANES
void powers(const float* re, const float* im, std::size_t first, std::size_t end, float* out) {
    for (std::size_t i = lanes * first; i < lanes * end; ++i)
        out[i] = re[i] * re[i] + im[i] * im[i];
}

BENTLINE_WIDE_LANES
void powers_of_mix(const float* re, const float* im, const float* re2, const float* im2, float gain,
                   float gain2, std::size_t first, std::size_t end, float* out) {
    for (std::size_t i = lanes * first; i < lanes * end; ++i) {
        const float real = gain * re[i] + gain2 * re2[i];
        const float imaginary = gain * im[i] + gain2 * im2[i];
        out[i] = real * real + imaginary * imaginary;
    }
}

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
    windowed_.resize(window_.size() * lanes);
    for (auto* v : {&left_, &left_imaginary_, &right_, &right_imaginary_, &power_})
        v->resize(fft_.bins() * lanes);
    envelope_.resize(fft_.bins());
}

void PeakFinder::transform(std::span<const float> in, const std::array<std::size_t, lanes>& from,
                           std::vector<float>& real, std::vector<float>& imaginary) {
    std::array<const float*, lanes> begins;
    for (std::size_t k = 0; k < lanes; ++k) {
        assert(from[k] + size() <= in.size());
        begins[k] = in.data() + from[k];
    }
    window_eight(begins.data(), window_.data(), size(), windowed_.data());
    fft_.forward(windowed_, real, imaginary);
}

void PeakFinder::look(std::span<const float> left, std::span<const float> right,
                      const std::array<std::size_t, lanes>& from, float gain_left,
                      float gain_right) {
    two_ = !right.empty();
    transform(left, from, left_, left_imaginary_);
    if (!two_) {
        powers(left_.data(), left_imaginary_.data(), first_ - 1, last_ + 2, power_.data());
        return;
    }
    transform(right, from, right_, right_imaginary_);
    powers_of_mix(left_.data(), left_imaginary_.data(), right_.data(), right_imaginary_.data(),
                  gain_left, gain_right, first_ - 1, last_ + 2, power_.data());
}

// Band levels, joined by straight lines between the bands' middles.
void PeakFinder::whiten(std::size_t which) {
    const std::size_t bands = band_edges_.size() - 1;
    std::vector<float> level(bands);
    float loudest = 0.0F;
    for (std::size_t b = 0; b < bands; ++b) {
        float sum = 0.0F;
        for (std::size_t k = band_edges_[b]; k < band_edges_[b + 1]; ++k)
            sum += power_[lanes * k + which];
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

std::vector<SpectralPeak> PeakFinder::peaks(std::size_t which) {
    float top = 0.0F;
    for (std::size_t k = first_ - 1; k <= last_ + 1; ++k)
        top = std::max(top, power_[lanes * k + which]);
    std::vector<SpectralPeak> found;
    // A full-scale sine on a bin of a Hann window gives size / 4.
    const float scale = 4.0F / static_cast<float>(size());
    if (top * scale * scale < absolute_floor * absolute_floor) return found;
    whiten(which);
    const float least = top * relative_floor * relative_floor;
    const double bin_hz = rate_ / static_cast<double>(size());
    for (std::size_t k = first_; k <= last_; ++k) {
        const float p = power_[lanes * k + which];
        const float below = power_[lanes * (k - 1) + which];
        const float above = power_[lanes * (k + 1) + which];
        if (p < least || p <= below || p < above) continue;
        const float a = 0.5F * std::log(below + 1e-30F);
        const float b = 0.5F * std::log(p);
        const float c = 0.5F * std::log(above + 1e-30F);
        const float curve = a - 2.0F * b + c;
        const float shift = curve < 0.0F ? std::clamp(0.5F * (a - c) / curve, -0.5F, 0.5F) : 0.0F;
        SpectralPeak peak;
        peak.hz =
            static_cast<float>((static_cast<double>(k) + static_cast<double>(shift)) * bin_hz);
        peak.amplitude = scale * std::exp(b - 0.25F * (a - c) * shift);
        peak.white = peak.amplitude * envelope_[k];
        if (two_) {
            const std::size_t at = lanes * k + which;
            const float left = std::hypot(left_[at], left_imaginary_[at]);
            const float right = std::hypot(right_[at], right_imaginary_[at]);
            const float angle = std::atan2(right, left);
            peak.place = angle * (4.0F / std::numbers::pi_v<float>)-1.0F;
        }
        found.push_back(peak);
    }
    return found;
}

}  // namespace bentline
