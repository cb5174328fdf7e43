// Short spectra, three ways to give them phases, and overlap-add.
#include "tests/reference/designs.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <cstdint>
#include <numbers>
#include <queue>
#include <vector>

#include "engine/transform/fft.h"
#include "tests/support/dice.h"

namespace bentline::reference {

namespace {

constexpr float turn = 2.0F * std::numbers::pi_v<float>;
using Spectrum = std::vector<std::complex<float>>;

float wrapped(float x) {
    return x - turn * std::nearbyint(x / turn);
}

// Frames of `size`, centred at index 0, laid down `hop` apart; frame m is taken at m * hop * speed.
struct Spectra {
    std::size_t size;
    std::size_t hop;
    double speed;
    std::vector<Spectrum> frames;

    std::int64_t place(std::size_t m) const {
        return std::llround(static_cast<double>(m * hop) * speed);
    }
    float step(std::size_t m) const { return static_cast<float>(place(m) - place(m - 1)); }
    float centre(std::size_t k) const {  // of bin k, radians a frame
        return turn * static_cast<float>(k) / static_cast<float>(size);
    }
};

Spectra analyse(const Signal& in, double speed, std::size_t size, std::size_t hop) {
    Spectra s{size, hop, speed, {}};
    const auto wanted = static_cast<std::size_t>(static_cast<double>(in.size()) / speed);
    RealFft fft(size);
    const auto window = make_window(Window::hann, size);
    std::vector<float> frame(size);
    for (std::size_t m = 0; m * hop < wanted + size; ++m) {
        for (std::size_t i = 0; i < size; ++i) {
            const std::int64_t at =
                s.place(m) + static_cast<std::int64_t>(i) - static_cast<std::int64_t>(size / 2);
            const bool there = at >= 0 && at < static_cast<std::int64_t>(in.size());
            frame[(i + size / 2) % size] =
                there ? window[i] * in[static_cast<std::size_t>(at)] : 0.0F;
        }
        s.frames.emplace_back(fft.bins());
        fft.forward(frame, s.frames.back());
    }
    return s;
}

Signal overlap_add(const Spectra& s, std::size_t length) {
    RealFft fft(s.size);
    const auto window = make_window(Window::hann, s.size);
    std::vector<float> frame(s.size);
    Signal out(length, 0.0F);
    Signal weight(length, 1e-3F);
    for (std::size_t m = 0; m < s.frames.size(); ++m) {
        fft.inverse(s.frames[m], frame);
        for (std::size_t i = 0; i < s.size; ++i) {
            const std::size_t at = m * s.hop + i;
            if (at < s.size / 2 || at - s.size / 2 >= length) continue;
            out[at - s.size / 2] += window[i] * frame[(i + s.size / 2) % s.size];
            weight[at - s.size / 2] += window[i] * window[i];
        }
    }
    for (std::size_t i = 0; i < length; ++i)
        out[i] /= weight[i];
    return out;
}

// Phase advance of bin k from frame m - 1 to m, radians a frame of the input.
float advance(const Spectra& s, const std::vector<Spectrum>& in, std::size_t m, std::size_t k) {
    const float expected = s.centre(k) * s.step(m);
    return s.centre(k) +
           wrapped(std::arg(in[m][k]) - std::arg(in[m - 1][k]) - expected) / s.step(m);
}

void lock_phases(Spectra& s) {
    const std::vector<Spectrum> in = s.frames;
    const std::size_t bins = in[0].size();
    std::vector<float> laid(bins);  // phases of the frame before
    for (std::size_t k = 0; k < bins; ++k)
        laid[k] = std::arg(in[0][k]);
    for (std::size_t m = 1; m < in.size(); ++m) {
        std::vector<std::size_t> peaks;
        for (std::size_t k = 2; k + 2 < bins; ++k) {
            const float p = std::norm(in[m][k]);
            if (p > std::norm(in[m][k - 1]) && p > std::norm(in[m][k - 2]) &&
                p > std::norm(in[m][k + 1]) && p > std::norm(in[m][k + 2])) {
                peaks.push_back(k);
            }
        }
        std::size_t from = 0;
        for (std::size_t i = 0; i < peaks.size(); ++i) {
            const std::size_t k = peaks[i];
            const std::size_t to = i + 1 < peaks.size() ? (k + peaks[i + 1] + 1) / 2 : bins;
            const float phase = laid[k] + static_cast<float>(s.hop) * advance(s, in, m, k);
            const auto rotation = std::polar(1.0F, wrapped(phase - std::arg(in[m][k])));
            for (; from < to; ++from)
                s.frames[m][from] *= rotation;
        }
        for (std::size_t k = 0; k < bins; ++k)
            laid[k] = std::arg(s.frames[m][k]);
    }
}

// Prusa & Holighaus 2017, "Phase vocoder done right", algorithm 1: phases are integrated along time
// and frequency, always onward from the loudest bin that has one.
void integrate_gradients(Spectra& s) {
    const std::vector<Spectrum> in = s.frames;
    const std::size_t bins = in[0].size();
    testing::Dice dice(9);
    std::vector<float> before(bins);
    for (std::size_t k = 0; k < bins; ++k)
        before[k] = std::arg(in[0][k]);
    struct Item {
        float level;
        std::size_t k;
        bool now;
        bool operator<(const Item& o) const { return level < o.level; }
    };
    for (std::size_t m = 1; m < in.size(); ++m) {
        float loudest = 0.0F;
        for (std::size_t k = 0; k < bins; ++k)
            loudest = std::max({loudest, std::abs(in[m][k]), std::abs(in[m - 1][k])});
        std::vector<float> phase(bins);
        std::vector<char> open(bins);
        std::priority_queue<Item> heap;
        for (std::size_t k = 0; k < bins; ++k) {
            open[k] = std::abs(in[m][k]) > 1e-6F * loudest ? 1 : 0;
            if (open[k] != 0)
                heap.push({std::abs(in[m - 1][k]), k, false});
            else
                phase[k] = static_cast<float>(dice.between(-3.14, 3.14));
        }
        const auto along_time = [&](std::size_t k) {
            const float now = advance(s, in, m, k);
            return 0.5F * (now + (m > 1 ? advance(s, in, m - 1, k) : now));
        };
        const auto along_frequency = [&](std::size_t k) {  // from k to k + 1
            return wrapped(std::arg(in[m][k + 1]) - std::arg(in[m][k]));
        };
        while (!heap.empty()) {
            const Item i = heap.top();
            heap.pop();
            if (!i.now) {
                if (open[i.k] == 0) continue;
                phase[i.k] = wrapped(before[i.k] + static_cast<float>(s.hop) * along_time(i.k));
                open[i.k] = 0;
                heap.push({std::abs(in[m][i.k]), i.k, true});
                continue;
            }
            if (i.k + 1 < bins && open[i.k + 1] != 0) {
                phase[i.k + 1] = wrapped(phase[i.k] + along_frequency(i.k));
                open[i.k + 1] = 0;
                heap.push({std::abs(in[m][i.k + 1]), i.k + 1, true});
            }
            if (i.k > 0 && open[i.k - 1] != 0) {
                phase[i.k - 1] = wrapped(phase[i.k] - along_frequency(i.k - 1));
                open[i.k - 1] = 0;
                heap.push({std::abs(in[m][i.k - 1]), i.k - 1, true});
            }
        }
        for (std::size_t k = 0; k < bins; ++k)
            s.frames[m][k] = std::polar(std::abs(in[m][k]), phase[k]);
        before = phase;
    }
}

Signal vocoded(const Signal& in, double speed, std::size_t size, std::size_t length) {
    Spectra s = analyse(in, speed, size, size / 4);
    lock_phases(s);
    return overlap_add(s, length);
}

// What of the sound lies from `low` to `high`, in octave-wide raised-cosine slopes that add to one.
Signal band(const Signal& in, double low, double high) {
    std::size_t n = 2;
    while (n < in.size())
        n *= 2;
    Signal x = in;
    x.resize(n, 0.0F);
    RealFft fft(n);
    Spectrum spectrum(fft.bins());
    fft.forward(x, spectrum);
    const auto above = [](double hz, double edge) {
        const double octaves = std::log2(std::max(hz, 1e-3) / edge);
        return 0.5 + 0.5 * std::sin(std::numbers::pi * std::clamp(octaves, -0.5, 0.5));
    };
    for (std::size_t k = 0; k < spectrum.size(); ++k) {
        const double hz = static_cast<double>(k) * rate / static_cast<double>(n);
        spectrum[k] *= static_cast<float>(above(hz, low) * (1.0 - above(hz, high)));
    }
    fft.inverse(spectrum, x);
    x.resize(in.size());
    return x;
}

// Medians of power along time and along frequency, as long as Fitzgerald's (17); what is greater
// along time is harmonic, the rest percussive. The percussive part is overlap-added in the time
// domain in frames of 256, as by Driedger, Mueller & Ewert 2014.
Signal slow_split(const Signal& in, double speed, std::size_t length) {
    constexpr std::size_t size = 4096;
    constexpr std::ptrdiff_t reach = 8;
    Spectra s = analyse(in, 1.0, size, size / 4);
    std::vector<std::vector<float>> power;
    for (const Spectrum& f : s.frames) {
        power.emplace_back();
        for (const auto& z : f)
            power.back().push_back(std::norm(z));
    }
    Spectra percussive = s;
    std::vector<float> some;
    const auto median = [&] {
        const auto mid = some.begin() + static_cast<std::ptrdiff_t>(some.size() / 2);
        std::nth_element(some.begin(), mid, some.end());
        return *mid;
    };
    const auto count = static_cast<std::ptrdiff_t>(power.size());
    const auto bins = static_cast<std::ptrdiff_t>(power[0].size());
    for (std::ptrdiff_t m = 0; m < count; ++m) {
        for (std::ptrdiff_t k = 0; k < bins; ++k) {
            some.clear();
            for (std::ptrdiff_t i = std::max<std::ptrdiff_t>(0, m - reach);
                 i <= std::min(count - 1, m + reach); ++i)
                some.push_back(power[static_cast<std::size_t>(i)][static_cast<std::size_t>(k)]);
            const float along_time = median();
            some.clear();
            for (std::ptrdiff_t i = std::max<std::ptrdiff_t>(0, k - reach);
                 i <= std::min(bins - 1, k + reach); ++i)
                some.push_back(power[static_cast<std::size_t>(m)][static_cast<std::size_t>(i)]);
            auto& part = along_time >= median() ? percussive : s;
            part.frames[static_cast<std::size_t>(m)][static_cast<std::size_t>(k)] = 0.0F;
        }
    }
    const Signal harmonic = vocoded(overlap_add(s, in.size()), speed, size, length);
    // Spectra that are laid down as they are: overlap-add in the time domain.
    Signal out = overlap_add(analyse(overlap_add(percussive, in.size()), speed, 256, 64), length);
    for (std::size_t i = 0; i < length; ++i)
        out[i] += harmonic[i];
    return out;
}

}  // namespace

std::string name(Design d) {
    switch (d) {
        case Design::locked:
            return "phase locking";
        case Design::resolutions:
            return "multi-resolution";
        case Design::split:
            return "harmonic/percussive split";
        case Design::phase_gradient:
            return "phase gradients";
    }
    return {};
}

Signal slow(Design d, const Signal& in, double speed) {
    const auto length =
        static_cast<std::size_t>(std::llround(static_cast<double>(in.size()) / speed));
    switch (d) {
        case Design::locked:
            return vocoded(in, speed, 4096, length);
        case Design::resolutions: {
            Signal out = vocoded(band(in, 1.0, 700.0), speed, 8192, length);
            const Signal middle = vocoded(band(in, 700.0, 4000.0), speed, 2048, length);
            const Signal high = vocoded(band(in, 4000.0, 1e6), speed, 1024, length);
            for (std::size_t i = 0; i < length; ++i)
                out[i] += middle[i] + high[i];
            return out;
        }
        case Design::split:
            return slow_split(in, speed, length);
        case Design::phase_gradient: {
            Spectra s = analyse(in, speed, 4096, 1024);
            integrate_gradients(s);
            return overlap_add(s, length);
        }
    }
    return {};
}

}  // namespace bentline::reference
