// Real Fourier transforms and windows, shared by every stage that looks at spectra. The only place
// that knows KissFFT's names.
#pragma once

#include <complex>
#include <cstddef>
#include <memory>
#include <span>
#include <vector>

namespace bentline {

// A real transform of one even size. Making one allocates; forward() and inverse() never do, and
// may run in the audio callback. One object per thread: it owns scratch space. [any]
class RealFft {
  public:
    // size: even, at least 2; best a product of 2, 3 and 5 (good_fft_size).
    explicit RealFft(std::size_t size);
    ~RealFft();
    RealFft(RealFft&&) noexcept;
    RealFft& operator=(RealFft&&) noexcept;

    std::size_t size() const { return size_; }
    std::size_t bins() const { return size_ / 2 + 1; }

    // in: size() samples; out: bins() values, unscaled (a full-scale sine on a bin gives size()/2).
    void forward(std::span<const float> in, std::span<std::complex<float>> out);
    // in: bins() values; out: size() samples, scaled so that inverse(forward(x)) == x to float
    // rounding.
    void inverse(std::span<const std::complex<float>> in, std::span<float> out);

  private:
    struct Plans;
    std::size_t size_;
    std::unique_ptr<Plans> plans_;
};

// The smallest even product of 2, 3 and 5 that is at least n.
std::size_t good_fft_size(std::size_t n);

// Periodic (DFT-even) windows, Harris 1978. Peak 1.
enum class Window { rectangular, hann, hamming, blackman, blackman_harris };
std::vector<float> make_window(Window kind, std::size_t size);

}  // namespace bentline
