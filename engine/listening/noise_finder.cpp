// Log powers, their means over frequency and their changes over time.
#include "engine/listening/noise_finder.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <numbers>

namespace bentline {

namespace {

constexpr std::size_t change_reach = 6;  // bins over which changes are averaged
constexpr float risen = 0.7F;            // of log power: 3 dB
constexpr double flat = 0.3;             // log power lost to unevenness, beyond noise's own
constexpr float noise_change = 1.386F;   // 2 ln 2
constexpr double flat_from_hz = 1000.0;  // below it too few bins lie round a place

// Natural logarithm within 0.0001: the exponent, and a quartic through five Chebyshev nodes for the
// mantissa in [1, 2).
float quick_log(float x) {
    const auto raw = std::bit_cast<std::uint32_t>(x);
    const auto exponent = static_cast<float>(static_cast<std::int32_t>(raw >> 23U) - 127);
    const float m = std::bit_cast<float>((raw & 0x007FFFFFU) | 0x3F800000U);
    const float y =
        -1.7317265F + m * (2.7928366F + m * (-1.4405922F + m * (0.43393245F - m * 0.054370934F)));
    return exponent * std::numbers::ln2_v<float> + y;
}

}  // namespace

NoiseFinder::NoiseFinder(SampleRate rate, std::size_t size, const NoiseSettings& settings)
    : settings_(settings),
      lowest_(static_cast<std::size_t>(
          std::ceil(settings.lowest.value() * static_cast<double>(size) / rate.value()))),
      flat_from_(static_cast<std::size_t>(flat_from_hz * static_cast<double>(size) / rate.value())),
      step_(to_frames(settings.step, rate).value()),
      apart_(to_frames(settings.apart, rate).value()),
      memory_(settings.memory.value() * rate.value()),
      level_(size / 2 + 1),
      mean_(size / 2 + 1),
      change_(size / 2 + 1),
      distance_(size / 2 + 1),
      risen_(size / 2 + 1),
      sums_(size / 2 + 2),
      one_over_(size / 2 + 2) {
    for (std::size_t n = 1; n < one_over_.size(); ++n)
        one_over_[n] = 1.0F / static_cast<float>(n);
    for (Values& k : kept_)
        k.resize(size / 2 + 1);
    restart();
}

void NoiseFinder::restart() {
    std::fill(change_.begin(), change_.end(), 0.0F);
    std::fill(mean_.begin(), mean_.end(), -100.0F);
    kept_count_ = 0;
    attacked_ = true;
}

void NoiseFinder::sum_up(std::span<const float> values) {
    double sum = 0.0;
    for (std::size_t k = 0; k < values.size(); ++k) {
        sum += static_cast<double>(values[k]);
        sums_[k + 1] = sum;
    }
}

float NoiseFinder::mean_round(std::size_t k, std::size_t to_either_side) const {
    const std::size_t from = k > to_either_side ? k - to_either_side : 0;
    const std::size_t to = std::min(level_.size(), k + to_either_side + 1);
    return static_cast<float>(sums_[to] - sums_[from]) * one_over_[to - from];
}

// What an attack has brought has no past to compare it with. Where it is as flat as noise it is
// taken for noise until it has one, else for partials.
void NoiseFinder::begin_again(std::span<const float> power) {
    sum_up(power);
    for (std::size_t k = 0; k < change_.size(); ++k) {
        if (risen_[k] == 0) continue;
        const double lost = std::log(static_cast<double>(mean_of_noise(k)) + 1e-12) -
                            static_cast<double>(mean_[k]) - std::numbers::egamma;
        change_[k] = k >= flat_from_ && lost < flat ? noise_change : 0.0F;
    }
    kept_count_ = 0;
    known_ = 0.0;
    attacked_ = false;
}

void NoiseFinder::look(std::span<const float> power, std::int64_t centre) {
    if (!attacked_ && centre - last_ < step_) return;
    for (std::size_t k = 0; k < level_.size(); ++k)
        level_[k] = quick_log(power[k] + 1e-12F);
    sum_up(level_);
    for (std::size_t k = 0; k < mean_.size(); ++k) {
        const float now = mean_of_noise(k);
        risen_[k] = attacked_ && now > mean_[k] + risen ? 1 : 0;
        mean_[k] = now;
    }
    if (attacked_) begin_again(power);
    // The latest of those kept that lies far enough back.
    const Values* old = nullptr;
    for (std::size_t i = 0; i < std::min(kept_count_, kept_.size()) && old == nullptr; ++i) {
        const std::size_t slot = (kept_count_ - 1 - i) % kept_.size();
        if (centre - kept_at_[slot] >= apart_) old = &kept_[slot];
    }
    if (old != nullptr) {
        for (std::size_t k = 0; k < level_.size(); ++k)
            distance_[k] = std::abs(level_[k] - (*old)[k]);
        sum_up(distance_);
        const auto step = static_cast<double>(centre - last_);
        known_ = std::min(known_ + step, memory_);
        const auto part = static_cast<float>(1.0 - std::exp(-step / known_));
        for (std::size_t k = 0; k < change_.size(); ++k)
            change_[k] += part * (mean_round(k, change_reach) - change_[k]);
    }
    last_ = centre;
    if (kept_count_ == 0 ||
        centre - kept_at_[(kept_count_ - 1) % kept_.size()] >= (apart_ + 2) / 3) {
        const std::size_t slot = kept_count_ % kept_.size();
        kept_[slot] = level_;
        kept_at_[slot] = centre;
        ++kept_count_;
    }
}

float NoiseFinder::share(std::size_t k, float power) const {
    if (k < lowest_) return 0.0F;
    // The mean logarithm of an exponential variable lies Euler's constant below that of its mean.
    constexpr double per_neper = 10.0 / std::numbers::ln10;
    const double above = per_neper * (static_cast<double>(quick_log(power + 1e-12F) - mean_[k]) -
                                      std::numbers::egamma);
    const double low = (settings_.partial.value() - above) /
                       (settings_.partial.value() - settings_.stands_out.value());
    const double restless = (static_cast<double>(change_[k]) - settings_.steady) /
                            (settings_.restless - settings_.steady);
    return static_cast<float>(std::clamp(low, 0.0, 1.0) * std::clamp(restless, 0.0, 1.0));
}

}  // namespace bentline
