// The sound that the note stage listens to: one channel, aimed at the soloist's place on the stage,
// at no more than 48 kHz.
#pragma once

#include <cstddef>
#include <vector>

#include "engine/recording/audio.h"
#include "engine/recording/focus.h"

namespace bentline::notes {

struct LeadSignal {
    double rate = 0.0;   // frames per second, 8000 to 50000
    double start = 0.0;  // seconds, of samples[0]
    std::vector<float> samples;

    double end() const { return start + static_cast<double>(samples.size()) / rate; }
    // The sample nearest to a time, clamped into the signal (0 for an empty one).
    std::ptrdiff_t index_of(double seconds) const;
};

// Stereo is projected on the constant-power pan law's direction of focus.place (the two channels
// summed for the centre or for a focus on the whole stage), scaled so that a centred sound keeps
// its level. Rates above 50 kHz are brought down by a whole factor behind a windowed-sinc low-pass.
// Samples that are not finite read as 0. [any]
LeadSignal lead_signal(const Audio& audio, const Focus& focus);

}  // namespace bentline::notes
