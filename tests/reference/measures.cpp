// Measurements on steady and moving tones.
#include "tests/reference/measures.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>

#include "engine/transform/fft.h"

namespace bentline::reference {

namespace {

constexpr double turn = 2.0 * std::numbers::pi;
using Complex = std::complex<double>;

double blackman_harris(double x) {  // x: 0 to 1; Harris 1978, table 1
    return 0.35875 - 0.48829 * std::cos(turn * x) + 0.14128 * std::cos(2 * turn * x) -
           0.01168 * std::cos(3 * turn * x);
}

// The partial at hz, brought to 0 Hz and smoothed by a Blackman-Harris window of `length` frames,
// at every `step` frames from `from` to `to`.
std::vector<Complex> heterodyne(const Signal& x, double hz, std::size_t from, std::size_t to,
                                std::size_t length, std::size_t step) {
    std::vector<double> window(length);
    for (std::size_t i = 0; i < length; ++i) {
        window[i] = blackman_harris((static_cast<double>(i) + 0.5) / static_cast<double>(length));
    }
    std::vector<Complex> out;
    for (std::size_t at = from; at + length <= to; at += step) {
        Complex sum = 0.0;
        const Complex turn_by = std::polar(1.0, -turn * hz / rate);
        Complex p = std::polar(1.0, -std::fmod(turn * hz * static_cast<double>(at) / rate, turn));
        double all = 0.0;
        for (std::size_t i = 0; i < length; ++i) {
            sum += window[i] * static_cast<double>(x[at + i]) * p;
            p *= turn_by;
            all += window[i];
        }
        out.push_back(2.0 * sum / all);
    }
    return out;
}

// Phases made continuous, turns removed.
std::vector<double> unwrapped(const std::vector<Complex>& z) {
    std::vector<double> p;
    for (const Complex& v : z) {
        double a = std::arg(v);
        if (!p.empty()) a += turn * std::nearbyint((p.back() - a) / turn);
        p.push_back(a);
    }
    return p;
}

std::pair<std::size_t, std::size_t> middle(const Signal& x) {
    return {x.size() / 6, x.size() * 5 / 6};
}

}  // namespace

double worst_partial_cents(const Tone& tone, const Signal& slowed) {
    const auto [from, to] = middle(slowed);
    double worst = 0.0;
    constexpr std::size_t step = 1024;
    for (const double hz : tone.partials) {
        const auto p = unwrapped(heterodyne(slowed, hz, from, to, 4096, step));
        // Least-squares slope.
        const double n = static_cast<double>(p.size());
        double sx = 0.0, sy = 0.0, sxx = 0.0, sxy = 0.0;
        for (std::size_t i = 0; i < p.size(); ++i) {
            const double t = static_cast<double>(i * step) / rate;
            sx += t;
            sy += p[i];
            sxx += t * t;
            sxy += t * p[i];
        }
        const double off = (n * sxy - sx * sy) / (n * sxx - sx * sx) / turn;
        worst = std::max(worst, std::abs(1200.0 * std::log2((hz + off) / hz)));
    }
    return worst;
}

double between_partials_db(const Tone& tone, const Signal& slowed) {
    constexpr std::size_t n = 65536;  // 1.49 s
    RealFft fft(n);
    std::vector<float> x(n);
    const std::size_t from = (slowed.size() - n) / 2;
    for (std::size_t i = 0; i < n; ++i) {
        x[i] = slowed[from + i] * static_cast<float>(blackman_harris(
                                      (static_cast<double>(i) + 0.5) / static_cast<double>(n)));
    }
    std::vector<std::complex<float>> spectrum(fft.bins());
    fft.forward(x, spectrum);
    double all = 0.0;
    double between = 0.0;
    for (std::size_t k = 0; k < spectrum.size(); ++k) {
        const double hz = static_cast<double>(k) * rate / static_cast<double>(n);
        const double e = std::norm(spectrum[k]);
        all += e;
        const bool near = std::any_of(tone.partials.begin(), tone.partials.end(),
                                      [&](double p) { return std::abs(p - hz) <= 8.0; });
        if (!near) between += e;
    }
    return 10.0 * std::log10(between / all);
}

double modulation_db(const Tone& tone, const Signal& slowed) {
    const auto [from, to] = middle(slowed);
    double worst = 0.0;
    for (const double hz : tone.partials) {
        const auto z = heterodyne(slowed, hz, from, to, 4410, 147);
        double mean = 0.0;
        for (const Complex& v : z)
            mean += 20.0 * std::log10(std::abs(v) + 1e-12);
        mean /= static_cast<double>(z.size());
        double square = 0.0;
        for (const Complex& v : z)
            square += std::pow(20.0 * std::log10(std::abs(v) + 1e-12) - mean, 2);
        worst = std::max(worst, std::sqrt(square / static_cast<double>(z.size())));
    }
    return worst;
}

double fit_residue_db(const Tone& tone, const Signal& slowed) {
    const std::size_t n = 2 * static_cast<std::size_t>(rate);
    const std::size_t from = (slowed.size() - n) / 2;
    const std::size_t m = tone.partials.size() * 2;
    // Normal equations on a basis of cosines and sines, solved by Cholesky with a small ridge.
    std::vector<std::vector<double>> basis(m, std::vector<double>(n));
    for (std::size_t j = 0; j < tone.partials.size(); ++j) {
        for (std::size_t i = 0; i < n; ++i) {
            const double p = turn * tone.partials[j] * static_cast<double>(i) / rate;
            basis[2 * j][i] = std::cos(p);
            basis[2 * j + 1][i] = std::sin(p);
        }
    }
    std::vector<std::vector<double>> a(m, std::vector<double>(m));
    std::vector<double> b(m);
    double energy = 0.0;
    for (std::size_t i = 0; i < n; ++i)
        energy += std::pow(slowed[from + i], 2);
    for (std::size_t r = 0; r < m; ++r) {
        for (std::size_t c = 0; c <= r; ++c) {
            double s = 0.0;
            for (std::size_t i = 0; i < n; ++i)
                s += basis[r][i] * basis[c][i];
            a[r][c] = s + (r == c ? 1e-6 * static_cast<double>(n) : 0.0);
        }
        for (std::size_t i = 0; i < n; ++i)
            b[r] += basis[r][i] * slowed[from + i];
    }
    for (std::size_t r = 0; r < m; ++r) {
        for (std::size_t c = 0; c <= r; ++c) {
            double s = a[r][c];
            for (std::size_t k = 0; k < c; ++k)
                s -= a[r][k] * a[c][k];
            a[r][c] = r == c ? std::sqrt(s) : s / a[c][c];
        }
    }
    std::vector<double> y = b;
    for (std::size_t r = 0; r < m; ++r) {
        for (std::size_t k = 0; k < r; ++k)
            y[r] -= a[r][k] * y[k];
        y[r] /= a[r][r];
    }
    for (std::size_t r = m; r-- > 0;) {
        for (std::size_t k = r + 1; k < m; ++k)
            y[r] -= a[k][r] * y[k];
        y[r] /= a[r][r];
    }
    double rest = 0.0;
    for (std::size_t i = 0; i < n; ++i) {
        double v = slowed[from + i];
        for (std::size_t r = 0; r < m; ++r)
            v -= y[r] * basis[r][i];
        rest += v * v;
    }
    return 10.0 * std::log10(rest / energy);
}

namespace {

// Heard pitch of the first partial, every 5 ms, as cents above rest; the expected motion is taken
// out before the smoothing, so that it does not blur it, and put back afterwards.
struct Track {
    std::vector<double> seconds;  // of the slowed sound
    std::vector<double> cents;
};
Track heard_pitch(Motion m, const Moving& tone, const Signal& slowed, double speed) {
    std::vector<Complex> still(slowed.size());
    double phase = 0.0;
    for (std::size_t i = 0; i < slowed.size(); ++i) {
        still[i] = static_cast<double>(slowed[i]) * std::polar(1.0, -phase);
        const double t = (static_cast<double>(i) + 0.5) * speed / rate;
        phase =
            std::fmod(phase + turn * tone.hz * std::exp2(motion_cents(m, t) / 1200.0) / rate, turn);
    }
    constexpr std::size_t length = 1764;  // 40 ms
    constexpr std::size_t step = 220;
    std::vector<double> window(length);
    for (std::size_t i = 0; i < length; ++i) {
        window[i] = blackman_harris((static_cast<double>(i) + 0.5) / static_cast<double>(length));
    }
    std::vector<Complex> z;
    Track track;
    for (std::size_t at = 0; at + length <= slowed.size(); at += step) {
        Complex sum = 0.0;
        for (std::size_t i = 0; i < length; ++i)
            sum += window[i] * still[at + i];
        z.push_back(sum);
        track.seconds.push_back((static_cast<double>(at) + length / 2.0) / rate);
    }
    const auto p = unwrapped(z);
    track.cents.assign(p.size(), 0.0);
    for (std::size_t i = 1; i + 1 < p.size(); ++i) {
        const double hz = (p[i + 1] - p[i - 1]) / turn * rate / (2.0 * step);
        const double moved = motion_cents(m, track.seconds[i] * speed);
        const double now = tone.hz * std::exp2(moved / 1200.0);
        track.cents[i] = moved + 1200.0 * std::log2((now + hz) / now);
    }
    return track;
}

}  // namespace

double motion_error_cents(Motion m, const Moving& tone, const Signal& slowed, double speed) {
    const Track t = heard_pitch(m, tone, slowed, speed);
    const auto error = [&](double late) {
        double sum = 0.0;
        int n = 0;
        for (std::size_t i = 0; i < t.cents.size(); ++i) {
            const double at = t.seconds[i] * speed;
            if (at < 0.4 || at > 2.1) continue;
            sum += std::pow(t.cents[i] - motion_cents(m, at - late * speed), 2);
            ++n;
        }
        return std::sqrt(sum / n);
    };
    // The best constant delay within 30 ms is taken out: coarsely, then finely.
    double best = 0.0;
    double least = error(0.0);
    for (const double step : {0.005, 0.001, 0.0002}) {
        const double centre = best;
        for (int i = -6; i <= 6; ++i) {
            const double late = centre + i * step;
            const double e = error(late);
            if (e < least) {
                least = e;
                best = late;
            }
        }
    }
    return least;
}

Vibrato vibrato_of(const Moving& tone, const Signal& slowed, double speed) {
    const Track t = heard_pitch(Motion::vibrato, tone, slowed, speed);
    // Fit a sine to heard pitch: search the rate, solve the rest.
    double best = 1e300;
    Vibrato v{};
    for (double hz = 5.0 * speed; hz <= 6.0 * speed; hz += 0.002 * speed) {
        double cc = 0.0, ss = 0.0, cs = 0.0, yc = 0.0, ys = 0.0, yy = 0.0;
        for (std::size_t i = 0; i < t.cents.size(); ++i) {
            const double at = t.seconds[i] * speed;
            if (at < 0.4 || at > 2.1) continue;
            const double y = t.cents[i];
            const double c = std::cos(turn * hz * t.seconds[i]);
            const double s = std::sin(turn * hz * t.seconds[i]);
            cc += c * c;
            ss += s * s;
            cs += c * s;
            yc += y * c;
            ys += y * s;
            yy += y * y;
        }
        const double det = cc * ss - cs * cs;
        const double a = (yc * ss - ys * cs) / det;
        const double b = (ys * cc - yc * cs) / det;
        const double rest = yy - a * yc - b * ys;
        if (rest < best) {
            best = rest;
            v = {hz, std::hypot(a, b)};
        }
    }
    return v;
}

double level_db(const Signal& x) {
    double sum = 1e-30;
    for (const float v : x)
        sum += static_cast<double>(v) * v;
    return 10.0 * std::log10(sum / static_cast<double>(x.size()));
}

}  // namespace bentline::reference
