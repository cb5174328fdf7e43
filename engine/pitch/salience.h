// Which pitches could the partials of one moment belong to?
#pragma once

#include <span>
#include <vector>

#include "engine/pitch/peaks.h"
#include "engine/pitch/pitch_path.h"

namespace bentline {

// The sum of whitened partials over each pitch's harmonics, on the grid. Weights after Klapuri
// (2006), equation 4: (f + alpha) / (h f + beta), alpha 27 Hz and beta 320 Hz for windows of 46 ms;
// the peaks are spread to subharmonics as in Salamon & Gomez (2012), "Melody extraction from
// polyphonic music signals using pitch contour characteristics", section II-B.
class Salience {
  public:
    explicit Salience(const PitchGrid& grid);
    // One value a bin; valid until the next call.
    std::span<const float> of(std::span<const SpectralPeak> peaks);

  private:
    PitchGrid grid_;
    std::vector<float> sum_;
};

// How well the partials of one moment fit one pitch.
struct HarmonicFit {
    double hz = 0.0;         // the pitch, moved to where its first six partials lie
    double strength = 0.0;   // weighted sum of whitened partials, as in Salience
    double amplitude = 0.0;  // root of the sum of the partials' squares
    double odd_share = 0.0;  // share of odd partials in the whitened sum: small where the pitch is
                             // an octave too low
    double between = 0.0;  // whitened partials half-way between its own, over its own: large where
                           // the pitch is an octave too high
    double thirds = 0.0;   // the same a third of the way
    double filled = 0.0;   // share of the first eight partials that are there
    double first_share = 0.0;   // whitened share of the fundamental
    double brightness = 0.0;    // mean partial number by amplitude, as log2
    double place = 0.0;         // mean place by amplitude
    double place_spread = 0.0;  // mean distance from it
};
HarmonicFit fit_harmonics(std::span<const SpectralPeak> peaks, double hz);

}  // namespace bentline
