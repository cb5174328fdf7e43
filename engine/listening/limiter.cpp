// True peak, least gain ahead, smoothing.
#include "engine/listening/limiter.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace bentline {

Limiter::Limiter(SampleRate rate, const LimiterSettings& settings)
    : ceiling_(static_cast<float>(amplitude(settings.ceiling))),
      ahead_(std::max<std::int64_t>(8, to_frames(settings.ahead, rate).value())),
      delay_(ahead_ + taps / 2),
      release_(std::exp(-1.0 / (settings.release.value() * rate.value()))),
      line_(static_cast<std::size_t>(delay_ + 1)),
      least_(static_cast<std::size_t>(ahead_ + 2)),
      smooth_(static_cast<std::size_t>(ahead_), unity),
      smooth_sum_(unity * ahead_) {
    constexpr int middle = taps / 2;
    for (int p = 0; p < phases; ++p) {
        float sum = 0.0F;
        for (int j = 0; j < taps; ++j) {
            const double x = static_cast<double>(j - middle) + static_cast<double>(p) / phases;
            const double px = std::numbers::pi * x;
            const double sinc = x == 0.0 ? 1.0 : std::sin(px) / px;
            const double w = 0.5 + 0.5 * std::cos(px / static_cast<double>(middle + 1));
            fir_[static_cast<std::size_t>(p)][static_cast<std::size_t>(j)] =
                static_cast<float>(sinc * w);
            sum += static_cast<float>(sinc * w);
        }
        for (float& f : fir_[static_cast<std::size_t>(p)])
            f /= sum;
    }
}

float Limiter::true_peak(std::array<float, 2> in) {
    recent_at_ = recent_at_ == 0 ? taps - 1 : recent_at_ - 1;
    float peak = 0.0F;
    for (std::size_t c = 0; c < 2; ++c) {
        const auto at = static_cast<std::size_t>(recent_at_);
        recent_[c][at] = recent_[c][at + taps] = in[c];
        const float* x = recent_[c].data() + at;
        for (const auto& f : fir_) {
            float y = 0.0F;
            for (std::size_t j = 0; j < taps; ++j)
                y += f[j] * x[j];
            peak = std::max(peak, std::abs(y));
        }
    }
    return peak;
}

std::array<float, 2> Limiter::next(std::array<float, 2> in) {
    const float peak = true_peak(in);
    const std::int64_t needed = peak <= ceiling_
                                    ? unity
                                    : static_cast<std::int64_t>(static_cast<double>(ceiling_) /
                                                                peak * static_cast<double>(unity));
    const std::size_t size = least_.size();
    while (least_count_ > 0 && least_[(least_first_ + least_count_ - 1) % size].gain >= needed)
        --least_count_;
    least_[(least_first_ + least_count_) % size] = {frame_, needed};
    ++least_count_;
    while (least_[least_first_].frame < frame_ - ahead_) {
        least_first_ = (least_first_ + 1) % size;
        --least_count_;
    }
    const std::int64_t least = least_[least_first_].gain;
    std::int64_t back =
        unity - static_cast<std::int64_t>(static_cast<double>(unity - released_) * release_);
    if (unity - back < unity / 100000) back = unity;
    released_ = std::min(least, back);
    smooth_sum_ += released_ - smooth_[smooth_at_];
    smooth_[smooth_at_] = released_;
    smooth_at_ = (smooth_at_ + 1) % smooth_.size();
    const std::int64_t smoothed = smooth_sum_ / ahead_;  // exactly unity where nothing is limited
    gain_ = static_cast<double>(smoothed) / static_cast<double>(unity);

    line_[line_at_] = in;
    line_at_ = (line_at_ + 1) % line_.size();
    ++frame_;
    const auto g = static_cast<float>(gain_);
    const std::array<float, 2>& old = line_[line_at_];
    return {old[0] * g, old[1] * g};
}

}  // namespace bentline
