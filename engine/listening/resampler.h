// Resamples by any ratio near one: a windowed sinc, read from a table.
//
// Band-limited interpolation after Smith & Gossett 1984 ("A flexible sampling-rate conversion
// method"): a sinc under a Kaiser window, 24 zero crossings to either side, its cut-off lowered
// when the sound is read faster. Aliases and images lie below -90 dB of a tone below 0.9 of the
// lower Nyquist frequency.
#pragma once

#include <cstdint>
#include <vector>

namespace bentline {

// One object serves all channels: weights() is called once a frame. Allocates in the constructor
// only.
class ResamplerKernel {
  public:
    ResamplerKernel();

    static constexpr int crossings = 24;
    static constexpr double most_ratio = 4.8;  // an octave up from 96 kHz on a 40 kHz device
    static constexpr int most_taps = 2 * static_cast<int>(crossings * most_ratio + 2);
    // Taps to either side at a ratio (input frames per output frame).
    static int reach(double ratio) {
        return static_cast<int>(ratio > 1.0 ? crossings * ratio : crossings) + 1;
    }

    // Weights of the 2 * reach(ratio) input frames round a place `fraction` (0 to 1) after one of
    // them: w[j] belongs to frame (j - reach + 1) relative to it.
    void weights(double fraction, double ratio, float* w) const;

  private:
    static constexpr int per_crossing = 512;
    std::vector<float> table_;
};

}  // namespace bentline
