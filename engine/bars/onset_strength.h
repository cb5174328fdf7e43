// Where a band strikes: onset strength in three bands, and the harmony of the moment, a frame every
// 10 ms.
//
// Rise of the log-compressed spectrum in log-spaced bands against the loudest neighbouring band two
// frames before, so that a vibrato is no onset (spectral flux with a maximum filter: Böck & Widmer
// 2013, "Maximum filter vibrato suppression for onset detection"). Every band is brought to unit
// strength in its surroundings, so that a quiet chorus counts like a loud one.
#pragma once

#include <array>
#include <vector>

#include "engine/recording/audio.h"
#include "engine/result.h"
#include "engine/units.h"
#include "engine/work.h"

namespace bentline {

inline constexpr Seconds strength_hop{0.01};

// All rows have one length; frame i belongs to time start + i * strength_hop. An onset peaks within
// one frame of where it is struck.
struct OnsetStrength {
    Seconds start;
    std::vector<float> low;        // up to 180 Hz: bass, bass drum
    std::vector<float> mid;        // to 2 kHz: chords, snare, soloist
    std::vector<float> high;       // above: cymbals, brushes, hi-hat
    std::vector<float> all;        // their sum, again of unit strength
    std::vector<float> level;      // dB re the loudest frame, down to -80
    std::vector<float> low_level;  // the same of what lies up to 180 Hz

    std::size_t size() const { return all.size(); }
    Seconds time_of(double frame) const { return start + strength_hop * frame; }
};

// Fails with stopped. [worker]
Result<OnsetStrength> onset_strength(const Audio& audio, const Work& work = {});

// Pitch classes (0 = C) of what sounds between two times, of unit length; all zero in silence.
// From 65 to 1000 Hz, where chords and bass lie.
using Chroma = std::array<float, 12>;
class ChromaReader {
  public:
    explicit ChromaReader(const Audio& audio);
    Chroma between(Seconds from, Seconds to) const;

  private:
    Seconds start_;
    Seconds hop_{0.05};
    std::vector<std::array<double, 12>> sums_;  // of the frames before each
};

}  // namespace bentline
