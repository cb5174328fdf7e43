// Mixing for the place, the rate change, and the rumble filter.
#include "engine/pitch/front_end.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <span>

#include "engine/pitch/dot.h"
#include "engine/transform/wide_lanes.h"

namespace bentline {

namespace {

constexpr double working_rate_aim = 22050.0;
constexpr double lowest_working_rate = 16000.0;

double bessel_i0(double x) {
    double sum = 1.0;
    double term = 1.0;
    for (int k = 1; k < 40; ++k) {
        term *= (x / (2.0 * k)) * (x / (2.0 * k));
        sum += term;
    }
    return sum;
}

// A low-pass of unit gain at 0 Hz: sinc of the cutoff (share of the sampling rate) under a Kaiser
// window (beta 7: 70 dB), `half` taps on each side of the middle.
std::vector<float> low_pass(double cutoff, int half) {
    std::vector<float> taps(2 * static_cast<std::size_t>(half) + 1);
    const double beta = 7.0;
    double sum = 0.0;
    std::vector<double> exact(taps.size());
    for (int i = -half; i <= half; ++i) {
        const double x = 2.0 * cutoff * i;
        const double sinc = i == 0 ? 1.0 : std::sin(std::numbers::pi * x) / (std::numbers::pi * x);
        const double u = static_cast<double>(i) / (half + 1);
        const double value = sinc * bessel_i0(beta * std::sqrt(1.0 - u * u)) / bessel_i0(beta);
        exact[static_cast<std::size_t>(i) + static_cast<std::size_t>(half)] = value;
        sum += value;
    }
    for (std::size_t i = 0; i < taps.size(); ++i)
        taps[i] = static_cast<float>(exact[i] / sum);
    return taps;
}

std::vector<float> padded(const std::vector<float>& x, std::size_t half) {
    std::vector<float> out(x.size() + 2 * half, 0.0F);
    std::copy(x.begin(), x.end(), out.begin() + static_cast<std::ptrdiff_t>(half));
    return out;
}

// out[i] = sum over k of in[i * step + k] * taps[k]. Four outputs side by side, each as dot() would
// have it, for one alone would wait for its own last addition.
BENTLINE_WIDE_LANES
void run_filter(const float* in, std::size_t step, const float* taps, std::size_t n, float* out,
                std::size_t count) {
    std::size_t i = 0;
    for (; i + 4 <= count; i += 4) {
        const float* const x = in + i * step;
        Lanes s0{};
        Lanes s1{};
        Lanes s2{};
        Lanes s3{};
        std::size_t k = 0;
        for (; k + lanes <= n; k += lanes) {
            Lanes t;
            load(t, taps + k);
            Lanes v;
            load(v, x + k);
            s0 += v * t;
            load(v, x + step + k);
            s1 += v * t;
            load(v, x + 2 * step + k);
            s2 += v * t;
            load(v, x + 3 * step + k);
            s3 += v * t;
        }
        float tail[4] = {};
        for (; k < n; ++k) {
            for (std::size_t o = 0; o < 4; ++o)
                tail[o] += x[o * step + k] * taps[k];
        }
        for (std::size_t l = 0; l < lanes; ++l) {
            tail[0] += s0[l];
            tail[1] += s1[l];
            tail[2] += s2[l];
            tail[3] += s3[l];
        }
        for (std::size_t o = 0; o < 4; ++o)
            out[i + o] = tail[o];
    }
    for (; i < count; ++i)
        out[i] = dot(in + i * step, taps, n);
}

std::vector<float> divide_rate(const std::vector<float>& x, std::size_t factor) {
    const int half = static_cast<int>(factor) * 20;
    const std::vector<float> taps = low_pass(0.45 / static_cast<double>(factor), half);
    const std::vector<float> in = padded(x, static_cast<std::size_t>(half));
    std::vector<float> out((x.size() + factor - 1) / factor);
    run_filter(in.data(), factor, taps.data(), taps.size(), out.data(), out.size());
    return out;
}

std::vector<float> double_rate(const std::vector<float>& x) {
    const int half = 40;
    const std::vector<float> taps = low_pass(0.225, half);
    std::vector<float> spread(2 * x.size(), 0.0F);
    for (std::size_t i = 0; i < x.size(); ++i)
        spread[2 * i] = 2.0F * x[i];
    const std::vector<float> in = padded(spread, static_cast<std::size_t>(half));
    std::vector<float> out(spread.size());
    run_filter(in.data(), 1, taps.data(), taps.size(), out.data(), out.size());
    return out;
}

// Second-order Butterworth high-pass (bilinear transform), run once.
void remove_rumble(std::vector<float>& x, double rate, double cutoff) {
    const double k = std::tan(std::numbers::pi * cutoff / rate);
    const double norm = 1.0 / (1.0 + std::numbers::sqrt2 * k + k * k);
    const double a1 = 2.0 * (k * k - 1.0) * norm;
    const double a2 = (1.0 - std::numbers::sqrt2 * k + k * k) * norm;
    double s1 = 0.0;
    double s2 = 0.0;
    for (float& v : x) {
        const double in = v;
        const double out = norm * in + s1;
        s1 = -2.0 * norm * in - a1 * out + s2;
        s2 = norm * in - a2 * out;
        v = static_cast<float>(out);
    }
}

// How many input frames make one working frame; 0: the rate is doubled.
std::size_t rate_divisor(SampleRate rate) {
    if (rate.value() < lowest_working_rate) return 0;
    return static_cast<std::size_t>(std::max(1.0, std::round(rate.value() / working_rate_aim)));
}

std::vector<float> at_working_rate(const std::vector<float>& channel, SampleRate rate,
                                   double rumble, std::size_t silence) {
    std::vector<float> x = channel;
    for (float& v : x) {
        if (!std::isfinite(v)) v = 0.0F;
    }
    const std::size_t divisor = rate_divisor(rate);
    if (divisor == 0) {
        x = double_rate(x);
    } else if (divisor > 1) {
        x = divide_rate(x, divisor);
    }
    remove_rumble(x, working_rate(rate), rumble);
    return padded(x, silence);
}

// Near enough that a difference could not be heard: 60 dB below the louder.
bool same(const std::vector<float>& a, const std::vector<float>& b) {
    double difference = 0.0;
    double power = 0.0;
    for (std::size_t i = 0; i < a.size(); ++i) {
        const double l = a[i];
        const double r = b[i];
        difference += (l - r) * (l - r);
        power += l * l + r * r;
    }
    return difference <= 1e-6 * power;
}

}  // namespace

StageWeights stage_weights(const Focus& focus) {
    const double angle = (std::clamp(focus.place, -1.0, 1.0) + 1.0) * std::numbers::pi / 4.0;
    const double share = std::clamp(focus.width, 0.0, 2.0) / 2.0;  // 1: whole stage
    return {share * 0.5 + (1.0 - share) * std::cos(angle),
            share * 0.5 + (1.0 - share) * std::sin(angle)};
}

double working_rate(SampleRate rate) {
    const std::size_t divisor = rate_divisor(rate);
    return divisor == 0 ? 2.0 * rate.value() : rate.value() / static_cast<double>(divisor);
}

WorkingSignal working_signal(const Audio& audio, const Focus& focus, std::size_t silence) {
    WorkingSignal out;
    out.rate = working_rate(audio.rate);
    out.weights = stage_weights(focus);
    out.place = focus.place;
    out.width = focus.width;
    if (audio.channels.empty()) return out;
    const double rumble = 0.5 * frequency(focus.lowest).value();
    out.mix = at_working_rate(audio.channels[0], audio.rate, rumble, silence);
    if (audio.channels.size() < 2) return out;
    std::vector<float> right = at_working_rate(audio.channels[1], audio.rate, rumble, silence);
    if (same(out.mix, right)) {
        const double both = out.weights.left + out.weights.right;
        for (float& v : out.mix)
            v = static_cast<float>(both * static_cast<double>(v));
        return out;
    }
    out.left = std::move(out.mix);
    out.right = std::move(right);
    out.mix.resize(out.left.size());
    for (std::size_t i = 0; i < out.mix.size(); ++i) {
        out.mix[i] = static_cast<float>(out.weights.left * static_cast<double>(out.left[i]) +
                                        out.weights.right * static_cast<double>(out.right[i]));
    }
    return out;
}

}  // namespace bentline
