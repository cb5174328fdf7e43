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

// Root of the mean of rows from `first` to `end`.
BENTLINE_WIDE_LANES
void root_of_mean(const float* rows, std::size_t first, std::size_t end, float* out) {
    Lanes sum{};
    for (std::size_t k = first; k < end; ++k) {
        Lanes v;
        load(v, rows + lanes * k);
        sum += v;
    }
    sum /= static_cast<float>(end - first);
    for (std::size_t k = 0; k < lanes; ++k)
        out[k] = std::sqrt(sum[k]);
}

float length_of(float x, float y) {
    const auto a = static_cast<double>(x);
    const auto b = static_cast<double>(y);
    return static_cast<float>(std::sqrt(a * a + b * b));
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
        v->resize((last_ + 2) * lanes);
    const std::size_t bands = band_edges_.size() - 1;
    band_level_.resize(bands * lanes);
    maxima_.resize(last_ + 2);
    const auto middle = [&](std::size_t b) {
        return 0.5F * static_cast<float>(band_edges_[b] + band_edges_[b + 1] - 1);
    };
    between_.resize(last_ + 1);
    std::size_t b = 0;
    for (std::size_t k = first_; k <= last_; ++k) {
        const auto at = static_cast<float>(k);
        while (b + 2 < bands && at > middle(b + 1))
            ++b;
        const float from = middle(b);
        const float to = middle(std::min(b + 1, bands - 1));
        between_[k] = {b, to > from ? std::clamp((at - from) / (to - from), 0.0F, 1.0F) : 0.0F};
    }
}

void PeakFinder::transform(std::span<const float> in, const std::array<std::size_t, lanes>& from,
                           std::vector<float>& real, std::vector<float>& imaginary) {
    std::array<std::ptrdiff_t, lanes> begins;
    for (std::size_t k = 0; k < lanes; ++k) {
        assert(from[k] + size() <= in.size());
        begins[k] = static_cast<std::ptrdiff_t>(from[k]);
    }
    fft_.cut(in, begins, window_, windowed_);
    fft_.forward(windowed_, real, imaginary);
}

void PeakFinder::look(std::span<const float> left, std::span<const float> right,
                      const std::array<std::size_t, lanes>& from, float gain_left,
                      float gain_right) {
    two_ = !right.empty();
    transform(left, from, left_, left_imaginary_);
    if (!two_) {
        powers(left_.data(), left_imaginary_.data(), first_ - 1, last_ + 2, power_.data());
        measure_bands();
        return;
    }
    transform(right, from, right_, right_imaginary_);
    powers_of_mix(left_.data(), left_imaginary_.data(), right_.data(), right_imaginary_.data(),
                  gain_left, gain_right, first_ - 1, last_ + 2, power_.data());
    measure_bands();
}

void PeakFinder::measure_bands() {
    greatest_row(power_.data(), first_ - 1, last_ + 2, top_.data());
    for (std::size_t b = 0; b + 1 < band_edges_.size(); ++b) {
        root_of_mean(power_.data(), band_edges_[b], band_edges_[b + 1],
                     band_level_.data() + lanes * b);
    }
}

// The amplitude envelope to the power -0.67 in the bands' middles; straight lines join them.
std::vector<float> PeakFinder::envelope_levels(std::size_t which) const {
    std::vector<float> level(band_edges_.size() - 1);
    float loudest = 0.0F;
    for (std::size_t b = 0; b < level.size(); ++b) {
        level[b] = band_level_[lanes * b + which];
        loudest = std::max(loudest, level[b]);
    }
    for (float& v : level)
        v = std::pow(v + 1e-4F * loudest + 1e-12F, -0.67F);
    return level;
}

std::vector<SpectralPeak> PeakFinder::peaks(std::size_t which) {
    const float top = top_[which];
    std::vector<SpectralPeak> found;
    // A full-scale sine on a bin of a Hann window gives size / 4.
    const float scale = 4.0F / static_cast<float>(size());
    if (top * scale * scale < absolute_floor * absolute_floor) return found;
    const std::vector<float> level = envelope_levels(which);
    const float least = top * relative_floor * relative_floor;
    const double bin_hz = rate_ / static_cast<double>(size());
    // Written down first, without a branch: where they lie cannot be foretold.
    std::size_t count = 0;
    for (std::size_t k = first_; k <= last_; ++k) {
        const float p = power_[lanes * k + which];
        const float below = power_[lanes * (k - 1) + which];
        const float above = power_[lanes * (k + 1) + which];
        maxima_[count] = static_cast<std::uint32_t>(k);
        count += static_cast<std::size_t>(p >= least) & static_cast<std::size_t>(p > below) &
                 static_cast<std::size_t>(p >= above);
    }
    found.reserve(count);
    for (std::size_t i = 0; i < count; ++i) {
        const std::size_t k = maxima_[i];
        const float p = power_[lanes * k + which];
        const float below = power_[lanes * (k - 1) + which];
        const float above = power_[lanes * (k + 1) + which];
        const float a = 0.5F * std::log(below + 1e-30F);
        const float b = 0.5F * std::log(p);
        const float c = 0.5F * std::log(above + 1e-30F);
        const float curve = a - 2.0F * b + c;
        const float shift = curve < 0.0F ? std::clamp(0.5F * (a - c) / curve, -0.5F, 0.5F) : 0.0F;
        SpectralPeak peak;
        peak.hz =
            static_cast<float>((static_cast<double>(k) + static_cast<double>(shift)) * bin_hz);
        peak.amplitude = scale * std::exp(b - 0.25F * (a - c) * shift);
        const auto& [band, share] = between_[k];
        const float next = level[std::min(band + 1, level.size() - 1)];
        peak.white = peak.amplitude * (level[band] + share * (next - level[band]));
        if (two_) {
            const std::size_t at = lanes * k + which;
            const float left = length_of(left_[at], left_imaginary_[at]);
            const float right = length_of(right_[at], right_imaginary_[at]);
            const float angle = std::atan2(right, left);
            peak.place = angle * (4.0F / std::numbers::pi_v<float>)-1.0F;
        }
        found.push_back(peak);
    }
    return found;
}

}  // namespace bentline
