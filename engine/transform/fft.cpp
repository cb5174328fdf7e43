// KissFFT behind RealFft, and the windows.
#include "engine/transform/fft.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numbers>

#include <kiss_fftr.h>

namespace bentline {

namespace {

struct ConfigFree {
    void operator()(kiss_fftr_state* p) const { kiss_fftr_free(p); }
};
using Config = std::unique_ptr<kiss_fftr_state, ConfigFree>;

static_assert(sizeof(kiss_fft_cpx) == sizeof(std::complex<float>));

}  // namespace

struct RealFft::Plans {
    Config forward;
    Config inverse;
};

RealFft::RealFft(std::size_t size) : size_(size), plans_(std::make_unique<Plans>()) {
    assert(size >= 2 && size % 2 == 0);
    plans_->forward.reset(kiss_fftr_alloc(static_cast<int>(size), 0, nullptr, nullptr));
    plans_->inverse.reset(kiss_fftr_alloc(static_cast<int>(size), 1, nullptr, nullptr));
}
RealFft::~RealFft() = default;
RealFft::RealFft(RealFft&&) noexcept = default;
RealFft& RealFft::operator=(RealFft&&) noexcept = default;

void RealFft::forward(std::span<const float> in, std::span<std::complex<float>> out) {
    assert(in.size() == size_ && out.size() == bins());
    kiss_fftr(plans_->forward.get(), in.data(), reinterpret_cast<kiss_fft_cpx*>(out.data()));
}

void RealFft::inverse(std::span<const std::complex<float>> in, std::span<float> out) {
    assert(in.size() == bins() && out.size() == size_);
    kiss_fftri(plans_->inverse.get(), reinterpret_cast<const kiss_fft_cpx*>(in.data()), out.data());
    const float scale = 1.0F / static_cast<float>(size_);
    for (float& x : out)
        x *= scale;
}

std::size_t good_fft_size(std::size_t n) {
    for (std::size_t m = std::max<std::size_t>(2, n + n % 2);; m += 2) {
        std::size_t rest = m;
        for (std::size_t p : {2U, 3U, 5U}) {
            while (rest % p == 0)
                rest /= p;
        }
        if (rest == 1) return m;
    }
}

std::vector<float> make_window(Window kind, std::size_t size) {
    // Cosine-series coefficients, Harris 1978, table 1 (Blackman: the common 0.42, 0.50, 0.08).
    std::vector<double> a;
    switch (kind) {
        case Window::rectangular:
            a = {1.0};
            break;
        case Window::hann:
            a = {0.5, 0.5};
            break;
        case Window::hamming:
            a = {0.54, 0.46};
            break;
        case Window::blackman:
            a = {0.42, 0.50, 0.08};
            break;
        case Window::blackman_harris:
            a = {0.35875, 0.48829, 0.14128, 0.01168};
            break;
    }
    std::vector<float> w(size);
    for (std::size_t i = 0; i < size; ++i) {
        const double x =
            2.0 * std::numbers::pi * static_cast<double>(i) / static_cast<double>(size);
        double sum = 0.0;
        for (std::size_t k = 0; k < a.size(); ++k) {
            sum += (k % 2 == 0 ? 1.0 : -1.0) * a[k] * std::cos(static_cast<double>(k) * x);
        }
        w[i] = static_cast<float>(sum);
    }
    return w;
}

}  // namespace bentline
