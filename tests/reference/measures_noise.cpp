// Measurements on slowed noise: does it stay noise?
#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <numbers>

#include "engine/transform/fft.h"
#include "tests/reference/measures.h"

namespace bentline::reference {

namespace {

using Powers = std::vector<std::vector<double>>;

Powers powers_of(const Signal& x, std::size_t size, std::size_t hop) {
    RealFft fft(size);
    const auto window = make_window(Window::hann, size);
    std::vector<float> frame(size);
    std::vector<std::complex<float>> spectrum(fft.bins());
    Powers out;
    // The first and last sixth are left out: beginnings and ends are not steady.
    for (std::size_t at = x.size() / 6; at + size <= x.size() * 5 / 6; at += hop) {
        for (std::size_t i = 0; i < size; ++i)
            frame[i] = window[i] * x[at + i];
        fft.forward(frame, spectrum);
        out.emplace_back();
        for (const auto& s : spectrum)
            out.back().push_back(static_cast<double>(std::norm(s)) + 1e-20);
    }
    return out;
}

std::size_t bin_of(double hz, std::size_t size) {
    return static_cast<std::size_t>(std::lround(hz * static_cast<double>(size) / rate));
}

// Third octaves from 200 Hz to 16 kHz: first bin and one past the last.
std::vector<std::pair<std::size_t, std::size_t>> thirds(std::size_t size) {
    std::vector<std::pair<std::size_t, std::size_t>> bands;
    for (int b = 0; b < 19; ++b) {
        const double low = 200.0 * std::exp2(b / 3.0);
        bands.emplace_back(bin_of(low, size), bin_of(low * std::exp2(1.0 / 3.0), size));
    }
    return bands;
}

// Over pairs of spectra `apart` steps apart: correlation of log levels, mean over bins.
double held(const Signal& x) {
    constexpr std::size_t size = 2048;
    const Powers p = powers_of(x, size, 512);
    constexpr std::size_t apart = 8;
    double sum = 0.0;
    std::size_t bins = 0;
    for (std::size_t k = bin_of(200.0, size); k < bin_of(16000.0, size); ++k, ++bins) {
        double mx = 0.0, my = 0.0, xx = 0.0, yy = 0.0, xy = 0.0;
        const auto n = static_cast<double>(p.size() - apart);
        for (std::size_t f = 0; f + apart < p.size(); ++f) {
            mx += std::log(p[f][k]) / n;
            my += std::log(p[f + apart][k]) / n;
        }
        for (std::size_t f = 0; f + apart < p.size(); ++f) {
            const double a = std::log(p[f][k]) - mx;
            const double b = std::log(p[f + apart][k]) - my;
            xx += a * a;
            yy += b * b;
            xy += a * b;
        }
        sum += xy / std::sqrt(xx * yy);
    }
    return 100.0 * sum / static_cast<double>(bins);
}

double flatness_lost(const Signal& x) {
    const double own = -10.0 / std::numbers::ln10 * std::numbers::egamma;
    double worst = 0.0;
    for (const std::size_t size : {2048U, 8192U, 32768U}) {
        double sum = 0.0;
        int n = 0;
        for (const auto& p : powers_of(x, size, size / 2)) {
            for (const auto& [from, to] : thirds(size)) {
                if (to - from < 40) continue;  // too few bins for a mean
                double logs = 0.0;
                double mean = 0.0;
                // What the band's slope (pink: 3 dB an octave) does to it is nothing: 0.02 dB.
                for (std::size_t k = from; k < to; ++k) {
                    logs += std::log(p[k]);
                    mean += p[k];
                }
                const auto count = static_cast<double>(to - from);
                sum += 10.0 / std::numbers::ln10 * (logs / count - std::log(mean / count));
                ++n;
            }
        }
        worst = std::max(worst, own - sum / n);
    }
    return worst;
}

double heard_again(const Signal& x) {
    constexpr std::size_t piece = 2048;
    constexpr std::size_t least = rate / 100;
    constexpr std::size_t most = rate / 5;
    constexpr std::size_t size = 16384;
    RealFft fft(size);
    std::vector<float> a(size);
    std::vector<float> b(size);
    std::vector<std::complex<float>> fa(fft.bins());
    std::vector<std::complex<float>> fb(fft.bins());
    double sum = 0.0;
    int n = 0;
    for (std::size_t at = x.size() / 6; at + piece + most <= x.size() * 5 / 6; at += 4 * piece) {
        std::fill(a.begin(), a.end(), 0.0F);
        std::fill(b.begin(), b.end(), 0.0F);
        std::copy_n(x.begin() + static_cast<std::ptrdiff_t>(at), piece, a.begin());
        std::copy_n(x.begin() + static_cast<std::ptrdiff_t>(at), piece + most, b.begin());
        fft.forward(a, fa);
        fft.forward(b, fb);
        for (std::size_t k = 0; k < fa.size(); ++k)
            fb[k] *= std::conj(fa[k]);
        std::vector<double> energy(piece + most + 1, 0.0);
        for (std::size_t i = 0; i < piece + most; ++i)
            energy[i + 1] = energy[i] + static_cast<double>(b[i]) * b[i];
        std::vector<float> cross(size);
        fft.inverse(fb, cross);
        double best = 0.0;
        for (std::size_t lag = least; lag <= most; ++lag) {
            const double e = energy[piece] * (energy[lag + piece] - energy[lag]);
            best = std::max(best, std::abs(static_cast<double>(cross[lag])) / std::sqrt(e));
        }
        sum += best;
        ++n;
    }
    return 100.0 * sum / n;
}

// Standard deviation, dB, of the levels of 10 ms spectra in the third octave from 3.6 kHz.
double band_unrest(const Signal& x) {
    constexpr std::size_t size = 512;
    const std::size_t from = bin_of(3600.0, size);
    const std::size_t to = bin_of(4500.0, size);
    std::vector<double> levels;
    for (const auto& p : powers_of(x, size, size / 2)) {
        double sum = 0.0;
        for (std::size_t k = from; k < to; ++k)
            sum += p[k];
        levels.push_back(10.0 * std::log10(sum));
    }
    double mean = 0.0;
    for (const double l : levels)
        mean += l / static_cast<double>(levels.size());
    double square = 0.0;
    for (const double l : levels)
        square += (l - mean) * (l - mean);
    return std::sqrt(square / static_cast<double>(levels.size()));
}

std::vector<double> third_levels(const Signal& x) {
    constexpr std::size_t size = 4096;
    const auto bands = thirds(size);
    std::vector<double> sums(bands.size(), 0.0);
    const Powers all = powers_of(x, size, size / 2);
    for (const auto& p : all) {
        for (std::size_t b = 0; b < bands.size(); ++b) {
            for (std::size_t k = bands[b].first; k < bands[b].second; ++k)
                sums[b] += p[k] / static_cast<double>(all.size());
        }
    }
    for (double& s : sums)
        s = 10.0 * std::log10(s);
    return sums;
}

}  // namespace

NoiseFigures noise_figures(const Signal& in, const Signal& slowed) {
    NoiseFigures f{};
    f.held_percent = held(slowed);
    f.flatness_db = flatness_lost(slowed);
    f.repeated_percent = heard_again(slowed);
    f.unrest = band_unrest(slowed) / band_unrest(noise(Colour::white, 12.0, 77));
    const auto a = third_levels(in);
    const auto b = third_levels(slowed);
    // Narrow bands of a short sound are uncertain by themselves: from 800 Hz on.
    for (std::size_t i = 6; i < a.size(); ++i)
        f.level_db = std::max(f.level_db, std::abs(b[i] - a[i]));
    return f;
}

double noise_between_db(const Tone& in, const Signal& slowed) {
    const double before = between_partials_db(in, in.sound) + level_db(in.sound);
    const double after = between_partials_db(in, slowed) + level_db(slowed);
    return after - before;
}

double cymbal_course_db(const Signal& slowed, double speed) {
    constexpr std::size_t piece = rate / 50;
    // Level against the formula; the beginning's level is the mean distance.
    std::vector<double> off;
    for (double t = cymbal_onset / speed + 0.01;
         cymbal_level_db((t * speed) - cymbal_onset) > -40.0; t += 0.02) {
        const auto at = static_cast<std::size_t>(t * rate);
        const Signal part(slowed.begin() + static_cast<std::ptrdiff_t>(at),
                          slowed.begin() + static_cast<std::ptrdiff_t>(at + piece));
        off.push_back(level_db(part) - cymbal_level_db((t + 0.01) * speed - cymbal_onset));
    }
    double mean = 0.0;
    for (const double o : off)
        mean += o / static_cast<double>(off.size());
    double square = 0.0;
    for (const double o : off)
        square += (o - mean) * (o - mean);
    return std::sqrt(square / static_cast<double>(off.size()));
}

}  // namespace bentline::reference
