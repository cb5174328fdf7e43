// The vocoder's phases: peaks, their advance, what a moving pitch does to it, and the rotation.
#include <algorithm>
#include <cmath>
#include <numbers>

#include "engine/listening/vocoder.h"

namespace bentline {

namespace {

constexpr double pi = std::numbers::pi;
// Second difference of phase beyond which it is no bend, radians.
constexpr double most_bend = 1.0;

double wrapped(double x) {
    return x - 2.0 * pi * std::nearbyint(x / (2.0 * pi));
}

}  // namespace

// For a frame w(u) of e^(j (d + q u) u), d the distance of the partial from a bin: the bin's phase
// is q g(d), g = M2 / M0, where M0 and M2 are the sums of w cos(d u) and u^2 w cos(d u); for small
// q (after Abe & Smith 2005, "AM/FM rate estimation for time-varying sinusoidal modeling").
void Vocoder::calibrate_bend() {
    const auto g = [&](double bins) {
        double m0 = 0.0;
        double m2 = 0.0;
        for (std::int64_t i = -half_ + 1; i < half_; ++i) {
            const auto u = static_cast<double>(i);
            const double x = static_cast<double>(half_window(std::abs(i), half_)) *
                             std::cos(2.0 * pi * bins * u / static_cast<double>(size_));
            m0 += x;
            m2 += u * u * x;
        }
        return m2 / m0;
    };
    for (std::size_t i = 0; i < bend_phase_.size(); ++i) {
        const double d = 0.5 * static_cast<double>(i) / static_cast<double>(bend_phase_.size() - 1);
        bend_phase_[i] = g(d);
        bend_difference_[i] = g(d - 1.0) + g(d + 1.0) - 2.0 * g(d);
    }
    double overlap = 0.0;
    double energy = 0.0;
    for (std::int64_t i = -half_ + 1; i < half_; ++i) {
        const auto w = static_cast<double>(half_window(std::abs(i), half_));
        overlap += static_cast<double>(i * i) * w * w;
        energy += w * w;
    }
    bend_overlap_ = overlap / energy;
}

// The moving pitch of the partial at peak k, from the phases of the bins round it.
Vocoder::Bend Vocoder::bend_at(std::size_t k) const {
    if (k < 2 || k + 2 >= power_.size()) return {};
    if (std::min(power_[k - 1], power_[k + 1]) < 0.02F * power_[k]) return {};
    std::complex<float> z{};
    for (std::size_t c = 0; c < channels_; ++c) {
        const std::complex<float> back = std::conj(now_[c][k]);
        z += now_[c][k - 1] * back * now_[c][k + 1] * back;
    }
    const double difference = std::arg(z);
    if (std::abs(difference) > most_bend) return {};
    // Distance from the bin: for a Hann window, from the ratio of two neighbouring levels.
    const double r =
        std::sqrt(static_cast<double>(std::max(power_[k - 1], power_[k + 1]) / power_[k]));
    const double d = std::clamp((2.0 * r - 1.0) / (1.0 + r), 0.0, 0.5);
    const auto i = static_cast<std::size_t>(
        std::lround(2.0 * d * static_cast<double>(bend_phase_.size() - 1)));
    const double q = difference / bend_difference_[i];
    return {q * bend_phase_[i], q * bend_overlap_};
}

void Vocoder::rotate(const Planned& p, std::int64_t delay_gain, Kind kind) {
    const std::size_t bins = power_.size();
    // Peaks: louder than two neighbours on either side.
    std::size_t count = 0;
    for (std::size_t k = 0; k < bins; ++k) {
        const float here = power_[k];
        if (here <= 1e-18F) continue;
        if (k >= 1 && power_[k - 1] > here) continue;
        if (k >= 2 && power_[k - 2] > here) continue;
        if (k + 1 < bins && power_[k + 1] >= here) continue;
        if (k + 2 < bins && power_[k + 2] >= here) continue;
        peaks_[count++] = static_cast<std::int32_t>(k);
    }
    const std::int64_t step = p.centre - last_centre_;
    const bool full = kind == Kind::plain && whole_;
    const bool long_enough = kind == Kind::plain && length_ >= size_ / 4 * 3;
    if (long_enough) noise_.look(power_, p.centre);
    const auto anew = static_cast<float>(
        std::clamp((settings_.even - speed_) / (settings_.even - settings_.slow), 0.0, 1.0));
    noisy_ = false;
    const double bin = 2.0 * pi / static_cast<double>(size_);
    const auto fresh = static_cast<float>(std::pow(10.0, settings_.fresh.value() / 10.0));
    std::size_t from = 0;
    for (std::size_t i = 0; i < count; ++i) {
        const auto k = static_cast<std::size_t>(peaks_[i]);
        std::size_t to = bins;
        if (i + 1 < count) {
            const auto* lowest = std::min_element(power_.data() + k, power_.data() + peaks_[i + 1]);
            to = static_cast<std::size_t>(lowest - power_.data());
        }
        double theta = theta_[k];
        const Bend bend = full ? bend_at(k) : Bend{};
        const float share = long_enough && anew > 0.0F ? anew * noise_.share(k, power_[k]) : 0.0F;
        noisy_ = noisy_ || share > 0.0F;
        if (kind == Kind::opening) {
            if (power_[k] > fresh * power_before_[k]) theta = 0.0;
        } else if (have_before_) {
            double omega = omega_[k];
            // A frame's phase at a bin belongs to the middle of its window's weight.
            const double apart = static_cast<double>(step) + middle_ - middle_before_;
            if (step > 0 && apart > 0.25 * static_cast<double>(step)) {
                std::complex<float> cross{};
                for (std::size_t c = 0; c < channels_; ++c)
                    cross += now_[c][k] * std::conj(before_[c][k]);
                const double expected = bin * static_cast<double>(k) * static_cast<double>(step);
                const double off = wrapped(static_cast<double>(std::arg(cross)) - expected);
                // What a moving pitch adds to a frame's phase is taken out of the advance.
                const double moved = bend.phase - static_cast<double>(bend_before_[k]);
                omega = bin * static_cast<double>(k) + (off - moved) / apart;
            }
            theta = wrapped(theta + omega * static_cast<double>(delay_gain));
            for (std::size_t j = from; j < to; ++j)
                omega_[j] = static_cast<float>(omega);
        }
        const double laid = theta - (1.0 - speed_) * bend.overlap;
        const std::complex<float> turn(static_cast<float>(std::cos(laid)),
                                       static_cast<float>(std::sin(laid)));
        for (std::size_t c = 0; c < channels_; ++c) {
            std::copy_n(now_[c].begin() + static_cast<std::ptrdiff_t>(from), to - from,
                        before_[c].begin() + static_cast<std::ptrdiff_t>(from));
            for (std::size_t j = from; j < to; ++j)
                now_[c][j] *= turn;
        }
        for (std::size_t j = from; j < to; ++j) {
            theta_[j] = static_cast<float>(theta);
            bend_before_[j] = static_cast<float>(bend.phase);
            share_[j] = share;
        }
        from = to;
    }
    if (count == 0) {
        std::fill(share_.begin(), share_.end(), 0.0F);
        for (std::size_t c = 0; c < channels_; ++c)
            before_[c] = now_[c];
    }
    if (noisy_) renew_noise(p.out);
    power_before_ = power_;
    middle_before_ = middle_;
    have_before_ = true;
}

}  // namespace bentline
