// Eight real Fourier transforms of one size, side by side in the lanes of wide registers. What
// looks at a recording every few milliseconds takes eight moments at once.
//
// Complex transform of half the size by the self-sorting scheme of Stockham (Van Loan 1992,
// "Computational frameworks for the fast Fourier transform", section 1.7) with radices 4, 2, 3 and
// 5, then the split of even and odd samples (the same, section 4.3). Against the exact sums the
// error is below eight_ffts_error times the root of the sum of the samples' squares.
#pragma once

#include <array>
#include <complex>
#include <cstddef>
#include <span>
#include <vector>

#include "engine/transform/wide_lanes.h"

namespace bentline {

inline constexpr double eight_ffts_error = 1e-6;

// Making one allocates; forward() never does, cut() only at a signal's ends. One object per thread:
// it owns scratch space. [any]
class EightFfts {
  public:
    // size: an even product of 2, 3 and 5 (good_fft_size).
    explicit EightFfts(std::size_t size);

    std::size_t size() const { return size_; }
    std::size_t bins() const { return size_ / 2 + 1; }

    // Rows of eight: sample i of transform k is in[8 i + k]; bin b of it is real[8 b + k] and
    // imaginary[8 b + k], unscaled. in: size() rows; real, imaginary: as many rows each as bins are
    // wanted from 0 on, at most bins().
    void forward(std::span<const float> in, std::span<float> real, std::span<float> imaginary);

    // Rows for forward(): the stretches of size() samples that begin at `from` in the signal,
    // beyond whose ends is silence, under a window of size() samples. out: size() rows.
    void cut(std::span<const float> signal, const std::array<std::ptrdiff_t, lanes>& from,
             std::span<const float> window, std::span<float> out);

  private:
    struct Pass {
        std::size_t radix, length, stride;
        std::size_t turns;  // where its factors begin
    };
    std::size_t size_;
    std::vector<Pass> passes_;
    std::vector<std::complex<float>> turns_;
    std::vector<std::complex<float>> split_;
    std::vector<float> real_a_, imaginary_a_, real_b_, imaginary_b_;
    std::array<std::vector<float>, lanes> at_ends_;  // stretches that reach beyond an end
};

// Of rows of eight values, one for each transform: the greatest of the rows from `first` to `end`,
// and at least 0. Writes one row. [any]
void greatest_row(const float* rows, std::size_t first, std::size_t end, float* out);

}  // namespace bentline
