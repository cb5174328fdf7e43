// The waveguide's loop, its excitation and its losses.
#include "engine/sound/plucked_string.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <numbers>

namespace bentline {
namespace {

constexpr double pi = std::numbers::pi;
constexpr double inaudible = 1e-6;  // -120 dB: the string is put to rest

}  // namespace

Seconds decay_time(Hertz f, const StringSettings& settings) {
    return settings.ring * std::sqrt(110.0 / f.value());
}

PluckedString::PluckedString(SampleRate rate, const StringSettings& settings)
    : rate_(rate.value()), settings_(settings) {
    const auto longest = static_cast<std::size_t>(rate_ / lowest().value()) + 16;
    line_.assign(std::bit_ceil(longest), 0.0);
    mask_ = line_.size() - 1;
}

// One-pole loss filter g (1 + a) / (1 + a z^-1) whose gain a period is right at the fundamental and
// at `high`: |H|^2 at two frequencies gives a quadratic for a.
PluckedString::Loop PluckedString::loop_for(Hertz f) const {
    const double w = 2.0 * pi * f.value() / rate_;
    const double high = std::min(std::max(settings_.high.value(), 2.5 * f.value()), 0.45 * rate_);
    const double cos_low = std::cos(w);
    const double cos_high = std::cos(2.0 * pi * high / rate_);
    const double t60 = decay_time(f, settings_).value();
    const double at_low = std::pow(10.0, -3.0 / (f.value() * t60));
    const double at_high = std::pow(10.0, -3.0 / (f.value() * t60 * settings_.ring_high));
    const double ratio = at_high / at_low * (at_high / at_low);
    const double b = std::max(1.0, (ratio * cos_high - cos_low) / (ratio - 1.0));
    Loop loop;
    loop.pole = -1.0 / (b + std::sqrt(b * b - 1.0));
    const double a = loop.pole;
    loop.gain = at_low * std::sqrt(1.0 + 2.0 * a * cos_low + a * a);
    loop.gain = std::min(loop.gain, 0.99999 * (1.0 + a));  // never grows, at no frequency
    const double phase_delay = -std::atan2(a * std::sin(w), 1.0 + a * cos_low) / w;
    loop.line = rate_ / f.value() - phase_delay;
    return loop;
}

// The RMS of the periodic sound of a pulse of height 1, as wide as the pick's share of the period:
// partial n of the pulse is 2 sin(n pi picked) / (n pi), the pickup's comb makes it 2 sin(n pi
// heard) times as large, the pick's softness two first-order lowpasses smaller.
double PluckedString::unit_level(Hertz f, double corner, double heard_at) const {
    double square = 0.0;
    for (int n = 1; n <= 60 && n * f.value() < 0.45 * rate_; ++n) {
        const double ratio = n * f.value() / corner;
        const double partial = 4.0 * std::sin(n * pi * settings_.picked_at) *
                               std::sin(n * pi * heard_at) / (n * pi) / (1.0 + ratio * ratio);
        square += 0.5 * partial * partial;
    }
    return std::sqrt(std::max(square, 1e-6));
}

void PluckedString::strike(Hertz f, Decibels level, double hard, std::uint32_t grain) {
    f = std::clamp(f, lowest(), highest());
    std::fill(line_.begin(), line_.end(), 0.0);
    now_ = f;
    loop_ = loop_for(f);
    step_ = {0.0, 0.0, 0.0};
    steps_ = 0;
    filter_ = soft_a_ = soft_b_ = 0.0;
    const double period = rate_ / f.value();
    pickup_ = std::max<std::size_t>(
        1, static_cast<std::size_t>(std::lround(settings_.heard_at * period)));
    const double corner = std::min(settings_.pick_corner.value() * hard, 0.4 * rate_);
    pulse_ = amplitude(level) / unit_level(f, corner, static_cast<double>(pickup_) / period);
    pulse_left_ = settings_.picked_at * period;
    noise_ = 0.12 * pulse_;
    noise_left_ = static_cast<int>(0.002 * rate_);
    grain_ = grain * 2654435761U + 12345U;
    soft_ = 1.0 - std::exp(-2.0 * pi * corner / rate_);
    gain_ = gain_step_ = hand_ = fall_ = 1.0;
    gain_left_ = 0;
    loudest_ = pulse_;
    quiet_ = 0;
    sounding_ = true;
}

void PluckedString::steer(Hertz f, int frames) {
    f = std::clamp(f, lowest(), highest());
    if (f == now_ && steps_ == 0) return;
    now_ = f;
    const Loop to = loop_for(f);
    const double share = 1.0 / frames;
    step_ = {(to.pole - loop_.pole) * share, (to.gain - loop_.gain) * share,
             (to.line - loop_.line) * share};
    steps_ = frames;
}

void PluckedString::swell(double factor, Seconds length) {
    gain_left_ = std::max(1, static_cast<int>(length.value() * rate_));
    gain_step_ = std::pow(factor, 1.0 / gain_left_);
}

void PluckedString::damp(Seconds length) {
    fall_ = std::min(fall_, std::pow(10.0, -3.0 / std::max(1.0, length.value() * rate_)));
}

double PluckedString::excitation() {
    double x = 0.0;
    if (pulse_left_ > 0.0) {
        x = pulse_ * std::min(1.0, pulse_left_);
        pulse_left_ -= 1.0;
    }
    if (noise_left_ > 0) {
        grain_ = grain_ * 1664525U + 1013904223U;
        x += noise_ * (static_cast<double>(grain_ >> 8U) / 8388608.0 - 1.0);
        --noise_left_;
    }
    soft_a_ += soft_ * (x - soft_a_);
    soft_b_ += soft_ * (soft_a_ - soft_b_);
    if (std::abs(soft_a_) < 1e-12) soft_a_ = 0.0;
    if (std::abs(soft_b_) < 1e-12) soft_b_ = 0.0;
    return soft_b_;
}

// Six-point Lagrange at `back` frames before the frame to be written; back >= 3.
double PluckedString::read(double back) const {
    const double whole = std::floor(back);
    const double d = back - whole + 2.0;  // 2 to 3, from the nearest of the six
    const std::size_t first = at_ - (static_cast<std::size_t>(whole) - 2);
    const double d0 = d;
    const double d1 = d - 1.0;
    const double d2 = d - 2.0;
    const double d3 = d - 3.0;
    const double d4 = d - 4.0;
    const double d5 = d - 5.0;
    const double low = d0 * d1;
    const double mid = d2 * d3;
    const double top = d4 * d5;
    return line_[first & mask_] * (d1 * mid * top / -120.0) +
           line_[(first - 1) & mask_] * (d0 * mid * top / 24.0) +
           line_[(first - 2) & mask_] * (low * d3 * top / -12.0) +
           line_[(first - 3) & mask_] * (low * d2 * top / 12.0) +
           line_[(first - 4) & mask_] * (low * mid * d5 / -24.0) +
           line_[(first - 5) & mask_] * (low * mid * d4 / 120.0);
}

double PluckedString::next() {
    if (!sounding_) return 0.0;
    if (steps_ > 0) {
        loop_.pole += step_.pole;
        loop_.gain += step_.gain;
        loop_.line += step_.line;
        --steps_;
    }
    filter_ = loop_.gain * read(std::max(3.0, loop_.line)) - loop_.pole * filter_;
    if (std::abs(filter_) < 1e-20) filter_ = 0.0;
    const double y = filter_ + excitation();
    line_[at_ & mask_] = y;
    const double heard = y - line_[(at_ - pickup_) & mask_];
    ++at_;
    if (gain_left_ > 0) {
        gain_ *= gain_step_;
        --gain_left_;
    }
    hand_ *= fall_;
    const double out = heard * gain_ * hand_;
    // At rest when a whole longest period has stayed inaudible.
    quiet_ = std::abs(out) < inaudible ? quiet_ + 1 : 0;
    if (hand_ < inaudible || quiet_ > static_cast<int>(0.06 * rate_)) sounding_ = false;
    return out;
}

}  // namespace bentline
