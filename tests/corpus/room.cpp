// Room by convolution, band limits by small filters.
#include "tests/corpus/room.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>

#include "engine/transform/fft.h"

namespace bentline::corpus {

namespace {

std::vector<float> draw_side(testing::Dice& dice, double rt60, SampleRate rate) {
    const auto size = static_cast<std::size_t>(1.2 * rt60 * rate.value());
    std::vector<float> h(size, 0.0F);
    const double predelay = dice.between(0.008, 0.02);
    double dull = 0.0;
    double seen = 0.0;
    for (std::size_t i = static_cast<std::size_t>(predelay * rate.value()); i < size; ++i) {
        const double t = static_cast<double>(i) / rate.value();
        // A one-pole low-pass whose corner sinks as the tail dies.
        dull = std::min(0.85, 0.3 + 0.5 * t / rt60);
        seen = dull * seen + (1.0 - dull) * dice.normal();
        h[i] = static_cast<float>(seen * std::pow(10.0, -3.0 * t / rt60));
    }
    for (int i = dice.whole(5, 9); i > 0; --i) {
        const double t = dice.between(0.004, 0.045);
        const double size_of = dice.between(0.4, 1.6) * std::exp(-t / 0.03);
        h[static_cast<std::size_t>(t * rate.value())] +=
            static_cast<float>(dice.chance(0.5) ? size_of : -size_of);
    }
    return h;
}

std::vector<float> convolved(const std::vector<float>& x, const std::vector<float>& h) {
    const std::size_t size = good_fft_size(x.size() + h.size());
    RealFft fft(size);
    std::vector<std::complex<float>> fx(fft.bins());
    std::vector<std::complex<float>> fh(fft.bins());
    std::vector<float> padded(size, 0.0F);
    std::copy(x.begin(), x.end(), padded.begin());
    fft.forward(padded, fx);
    std::fill(padded.begin(), padded.end(), 0.0F);
    std::copy(h.begin(), h.end(), padded.begin());
    fft.forward(padded, fh);
    for (std::size_t i = 0; i < fx.size(); ++i)
        fx[i] *= fh[i];
    fft.inverse(fx, padded);
    padded.resize(x.size());
    return padded;
}

double energy(const std::vector<float>& x) {
    double sum = 0.0;
    for (float v : x)
        sum += static_cast<double>(v) * v;
    return sum;
}

void limit_side(std::vector<float>& x, double low, double high, double rate) {
    const double keep = std::exp(-2.0 * std::numbers::pi * low / rate);
    const double w = 2.0 * std::numbers::pi * std::min(high, 0.45 * rate) / rate;
    const double alpha = std::sin(w) / std::numbers::sqrt2;  // Butterworth: Q = 1 / sqrt(2)
    const double b = (1.0 - std::cos(w)) / 2.0 / (1.0 + alpha);
    const double a1 = -2.0 * std::cos(w) / (1.0 + alpha);
    const double a2 = (1.0 - alpha) / (1.0 + alpha);
    double slow = 0.0, x1 = 0.0, x2 = 0.0, y1 = 0.0, y2 = 0.0;
    for (float& v : x) {
        slow = keep * slow + (1.0 - keep) * v;
        const double in = v - slow;
        const double y = b * (in + 2.0 * x1 + x2) - a1 * y1 - a2 * y2;
        x2 = x1;
        x1 = in;
        y2 = y1;
        y1 = y;
        v = static_cast<float>(y);
    }
}

}  // namespace

RoomAnswer draw_room(testing::Dice& dice, Seconds to_minus_60_db, SampleRate rate) {
    RoomAnswer r;
    r.left = draw_side(dice, to_minus_60_db.value(), rate);
    r.right = draw_side(dice, to_minus_60_db.value(), rate);
    return r;
}

void add_room(Stereo& sound, const RoomAnswer& room, Decibels wet) {
    std::vector<float> middle(sound.left.size());
    for (std::size_t i = 0; i < middle.size(); ++i)
        middle[i] = 0.5F * (sound.left[i] + sound.right[i]);
    const auto add = [&](std::vector<float>& side, const std::vector<float>& answer) {
        const auto gain = static_cast<float>(amplitude(wet) / std::sqrt(energy(answer) + 1e-20));
        const auto tail = convolved(middle, answer);
        for (std::size_t i = 0; i < side.size(); ++i)
            side[i] += gain * tail[i];
    };
    add(sound.left, room.left);
    add(sound.right, room.right);
}

void limit_band(Stereo& sound, Hertz low, Hertz high, SampleRate rate) {
    limit_side(sound.left, low.value(), high.value(), rate.value());
    limit_side(sound.right, low.value(), high.value(), rate.value());
}

}  // namespace bentline::corpus
