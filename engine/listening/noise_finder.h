// Tells, bin by bin, how much of a short spectrum is noise: hiss, breath, pick noise, a cymbal.
//
// Noise differs from partials in two ways, and a place must be like noise in both. Its peaks stand
// out little: the power of a bin of Gaussian noise is exponentially distributed, and hardly ever
// lies 8 dB above the mean; the mean is found from the logarithms round a place, which a few
// partials among them do not lift much. And its levels forget themselves: of two spectra that
// hardly overlap, the logarithms of a noise bin's power differ by 2 ln 2 in the mean (the distance
// of two exponentially distributed variables in logarithm is logistic), those of a partial by what
// it decayed. After the fuzzy classes of Damskaegg & Valimaki 2017 ("Audio time stretching using
// fuzzy classification of spectral bins"), with these two questions in place of median filters,
// which would have to see a tenth of a second ahead.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

#include "engine/units.h"

namespace bentline {

struct NoiseSettings {
    Hertz lowest{150.0};       // below it nothing is called noise
    Decibels stands_out{8.0};  // a peak up to so far above the mean may be noise,
    Decibels partial{12.0};    // from here on it is a partial
    double steady = 0.5;       // mean change of log power up to which it is a partial,
    double restless = 0.9;     // and from which it is noise
    Seconds apart{0.042};      // two spectra compared; half a frame of 80 ms: noise in Hann windows
                               // that overlap by half correlates by 3 % in power
    Seconds step{0.008};       // between spectra looked at
    Seconds memory{0.1};       // over which changes are averaged, once so much is known
};

class NoiseFinder {
  public:
    // bins: of a spectrum of `size` frames. Allocates. [any]
    NoiseFinder(SampleRate rate, std::size_t size, const NoiseSettings& settings = {});

    // Forgets all. [audio]
    void restart();
    // An attack lies between what was looked at and what comes: what grows there is not known to be
    // noise until it has been compared. [audio]
    void attack() { attacked_ = true; }
    // The next frame's power, centred at line frame `centre`, not before the last; what lies closer
    // than `step` to the last looked at is passed over. [audio]
    void look(std::span<const float> power, std::int64_t centre);
    // The share of noise at a peak of that power, 0 to 1. [audio]
    float share(std::size_t k, float power) const;
    // Bins to either side over which noise round bin k may be taken to be alike.
    static std::size_t reach(std::size_t k) { return 8 + k / 8; }

  private:
    using Values = std::vector<float>;
    void sum_up(std::span<const float> values);
    void begin_again(std::span<const float> power);
    float mean_round(std::size_t k, std::size_t to_either_side) const;
    float mean_of_noise(std::size_t k) const { return mean_round(k, 2 * reach(k)); }

    NoiseSettings settings_;
    std::size_t lowest_;
    std::size_t flat_from_;  // bin
    std::int64_t step_;
    std::int64_t apart_;
    double memory_;
    Values level_;                     // log power of the frame looked at last
    Values mean_;                      // of it, over reach(k)
    Values change_;                    // averaged over time
    Values distance_;                  // scratch
    std::vector<std::uint8_t> risen_;  // at the attack just met, scratch
    std::vector<double> sums_;         // running sums, one longer than a spectrum
    Values one_over_;                  // of whole numbers
    std::array<Values, 4>
        kept_;  // log powers of earlier frames, a third of `apart` from each other
    std::array<std::int64_t, 4> kept_at_{};
    std::size_t kept_count_ = 0;
    std::int64_t last_ = 0;
    double known_ = 0.0;  // frames over which changes have been averaged since the last attack
    bool attacked_ = true;
};

}  // namespace bentline
