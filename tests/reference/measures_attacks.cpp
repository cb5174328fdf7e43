// Measurements on clicks, and the spectral distance of lines.
#include <algorithm>
#include <cmath>
#include <complex>

#include "engine/transform/fft.h"
#include "tests/reference/measures.h"

namespace bentline::reference {

namespace {

// Mean of |difference| over 0.2 ms: the chord under the clicks hardly shows in it.
std::vector<double> envelope(const Signal& x) {
    constexpr std::size_t n = 9;
    std::vector<double> e(x.size(), 0.0);
    double sum = 0.0;
    const auto d = [&](std::size_t i) {
        return i == 0 ? 0.0 : std::abs(static_cast<double>(x[i]) - x[i - 1]);
    };
    for (std::size_t i = 0; i < x.size(); ++i) {
        sum += d(i) - (i >= n ? d(i - n) : 0.0);
        if (i >= n / 2) e[i - n / 2] = sum / n;
    }
    return e;
}

double rise_frames(const std::vector<double>& e, std::size_t peak) {
    std::size_t hi = peak;
    while (hi > 0 && e[hi - 1] > 0.9 * e[peak])
        --hi;
    std::size_t lo = hi;
    while (lo > 0 && e[lo] > 0.1 * e[peak])
        --lo;
    return static_cast<double>(hi - lo);
}

double median(std::vector<double> v) {
    std::nth_element(v.begin(), v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2), v.end());
    return v[v.size() / 2];
}

}  // namespace

ClickFigures click_figures(const Clicks& in, const Signal& slowed, double speed,
                           bool quiet_ground) {
    const auto e_in = envelope(in.sound);
    const auto e = envelope(slowed);
    const auto peak_near = [](const std::vector<double>& v, double at, double reach) {
        const auto a = static_cast<std::size_t>(std::max(0.0, (at - reach) * rate));
        const auto b = std::min(v.size(), static_cast<std::size_t>((at + reach) * rate));
        return static_cast<std::size_t>(
            std::max_element(v.begin() + static_cast<std::ptrdiff_t>(a),
                             v.begin() + static_cast<std::ptrdiff_t>(b)) -
            v.begin());
    };
    std::vector<double> offsets;
    std::vector<double> rises;
    std::vector<double> rises_in;
    std::vector<double> heights;
    for (const double at : in.at) {
        const std::size_t p_in = peak_near(e_in, at, 0.01);
        const std::size_t p = peak_near(e, at / speed, 0.03);
        const double shift = static_cast<double>(p_in) / rate - at;  // within the click
        offsets.push_back((static_cast<double>(p) / rate - at / speed - shift) * 1000.0);
        rises_in.push_back(rise_frames(e_in, p_in));
        rises.push_back(rise_frames(e, p));
        heights.push_back(e[p] / e_in[p_in]);
    }
    ClickFigures f{};
    f.offset_ms = median(offsets);
    for (const double o : offsets)
        f.timing_ms = std::max(f.timing_ms, std::abs(o - f.offset_ms));
    f.rise_ratio = median(rises) / median(rises_in);
    double before = 1e-20;
    double click = 1e-20;
    int wrong = 0;
    for (std::size_t i = 0; i < in.at.size(); ++i) {
        const double at = in.at[i] / speed + f.offset_ms / 1000.0;
        const std::size_t p = peak_near(e, at, 0.005);
        bool bad = heights[i] < std::pow(10.0, -12.0 / 20.0);
        for (double d = -60.0; d <= 60.0; d += 1000.0 / rate) {
            if (std::abs(d) < 4.0) continue;
            const auto k =
                static_cast<std::ptrdiff_t>(p) + static_cast<std::ptrdiff_t>(d / 1000.0 * rate);
            if (k < 0 || k >= static_cast<std::ptrdiff_t>(e.size())) continue;
            if (e[static_cast<std::size_t>(k)] > std::pow(10.0, -14.0 / 20.0) * e[p]) bad = true;
        }
        wrong += bad ? 1 : 0;
        const auto c = static_cast<std::ptrdiff_t>(p);
        for (std::ptrdiff_t k = c - rate * 60 / 1000; k < c + rate * 20 / 1000; ++k) {
            if (k < 0 || k >= static_cast<std::ptrdiff_t>(slowed.size())) continue;
            const double s = std::pow(static_cast<double>(slowed[static_cast<std::size_t>(k)]), 2);
            if (k < c - rate * 4 / 1000) before += s;
            if (k >= c - rate * 2 / 1000) click += s;
        }
    }
    f.wrong_percent = 100.0 * wrong / static_cast<double>(in.at.size());
    f.pre_echo_db = quiet_ground ? 10.0 * std::log10(before / click) : 0.0;
    return f;
}

namespace {

constexpr std::size_t fft_size = 2048;
constexpr std::size_t hop = 512;
using Levels = std::vector<std::vector<float>>;

Levels levels_of(const Signal& x, std::ptrdiff_t shift) {
    RealFft fft(fft_size);
    const auto window = make_window(Window::hann, fft_size);
    std::vector<float> frame(fft_size);
    std::vector<std::complex<float>> spectrum(fft.bins());
    Levels out;
    for (std::size_t at = 0; at + fft_size <= x.size(); at += hop) {
        for (std::size_t i = 0; i < fft_size; ++i) {
            const auto k = static_cast<std::ptrdiff_t>(at + i) + shift;
            frame[i] = k < 0 || k >= static_cast<std::ptrdiff_t>(x.size())
                           ? 0.0F
                           : window[i] * x[static_cast<std::size_t>(k)];
        }
        fft.forward(frame, spectrum);
        out.emplace_back();
        for (const auto& s : spectrum)
            out.back().push_back(20.0F * std::log10(std::abs(s) + 1e-9F));
    }
    return out;
}

Distance distance_at(const Levels& wanted, float floor, const std::vector<double>& onsets,
                     const Signal& slowed, std::ptrdiff_t shift) {
    const Levels got = levels_of(slowed, shift);
    double whole = 0.0;
    double attacks = 0.0;
    int n = 0;
    int m = 0;
    for (std::size_t f = 0; f < std::min(wanted.size(), got.size()); ++f) {
        double sum = 0.0;
        int bins = 0;
        for (std::size_t k = 0; k < wanted[f].size(); ++k) {
            const float a = std::max(wanted[f][k], floor);
            const float b = std::max(got[f][k], floor);
            if (a == floor && b == floor) continue;
            sum += std::pow(static_cast<double>(a - b), 2);
            ++bins;
        }
        if (bins == 0) continue;
        const double d = std::sqrt(sum / bins);
        whole += d;
        ++n;
        const double centre = (static_cast<double>(f * hop) + fft_size / 2.0) / rate;
        const bool attack = std::any_of(onsets.begin(), onsets.end(), [&](double o) {
            return centre >= o - 0.01 && centre <= o + 0.04;
        });
        if (attack) {
            attacks += d;
            ++m;
        }
    }
    return {whole / n, attacks / std::max(m, 1)};
}

}  // namespace

Distance spectral_distance(const Line& wanted, const Signal& slowed) {
    const Levels levels = levels_of(wanted.sound, 0);
    float top = -200.0F;
    for (const auto& f : levels)
        top = std::max(top, *std::max_element(f.begin(), f.end()));
    Distance best{1e9, 1e9};
    for (std::ptrdiff_t shift = -1100; shift <= 1100; shift += 110) {
        const Distance d = distance_at(levels, top - 60.0F, wanted.onsets, slowed, shift);
        if (d.whole_db < best.whole_db) best = d;
    }
    return best;
}

}  // namespace bentline::reference
