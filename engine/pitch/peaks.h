// The partials of one moment: peaks of a short spectrum, whitened, with their place on the stage.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "engine/transform/eight_ffts.h"

namespace bentline {

struct SpectralPeak {
    float hz = 0.0F;
    float amplitude = 0.0F;  // of a sine, full scale 1
    float white = 0.0F;      // amplitude over the spectrum's own envelope to the power 0.67
    float place = 0.0F;      // -1 left to 1 right, by the constant-power pan law; 0 for one channel
};

// Takes short spectra of one or two channels under a Hann window of 46 ms, eight moments at once,
// and finds their peaks between 55 Hz and 6 kHz. Peaks lie where a parabola through three log
// magnitudes puts them: to a few cents for lone partials. Whitening after Klapuri (2006), "Multiple
// fundamental frequency estimation by summing harmonic amplitudes", section 2.1, with nu = 0.33.
// One object per thread.
class PeakFinder {
  public:
    explicit PeakFinder(double rate);

    std::size_t size() const { return window_.size(); }
    // The spectra of stretches of size() samples that begin at `from` in the channels. right: empty
    // for one channel. `gain_left`, `gain_right`: the mix that is analysed.
    void look(std::span<const float> left, std::span<const float> right,
              const std::array<std::size_t, lanes>& from, float gain_left, float gain_right);
    // The peaks of one of the stretches looked at last, in ascending order of frequency.
    std::vector<SpectralPeak> peaks(std::size_t which);

  private:
    void transform(std::span<const float> in, const std::array<std::size_t, lanes>& from,
                   std::vector<float>& real, std::vector<float>& imaginary);
    void measure_bands();
    std::vector<float> envelope_levels(std::size_t which) const;

    double rate_;
    std::vector<float> window_;
    EightFfts fft_;
    std::size_t first_;
    std::size_t last_;
    std::vector<std::size_t> band_edges_;
    // Which bands' middles a bin lies between, and how far from the lower one.
    struct Between {
        std::size_t band = 0;
        float share = 0.0F;
    };
    std::vector<Between> between_;
    bool two_ = false;
    // Rows of eight, one value a stretch.
    std::vector<float> windowed_;
    std::vector<float> left_, left_imaginary_;
    std::vector<float> right_, right_imaginary_;
    std::vector<float> power_;
    std::vector<float> band_level_;
    std::array<float, lanes> top_{};     // the greatest power
    std::vector<std::uint32_t> maxima_;  // of the stretch that is looked at
};

}  // namespace bentline
