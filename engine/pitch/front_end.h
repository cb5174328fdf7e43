// What the tracker listens to: the recording mixed for the soloist's place on the stage, without
// rumble, at a working rate near 22 kHz.
#pragma once

#include <cstddef>
#include <vector>

#include "engine/recording/audio.h"
#include "engine/recording/focus.h"

namespace bentline {

// How loud each channel counts in the mix for a place on the stage, for the constant-power pan law
// (left cos, right sin of a quarter circle). At full width both count 0.5; the narrower, the more
// they follow the law, so that sources on the other side fade. Their sum is at most sqrt(2).
struct StageWeights {
    double left = 0.5;
    double right = 0.5;
};
StageWeights stage_weights(const Focus& focus);

// samples[i] lies at the time of the audio's first frame plus i / rate seconds: the filters in
// between have no delay.
struct WorkingSignal {
    std::vector<float> mix;
    // The channels that were mixed; empty where there is one, or where both are the same.
    std::vector<float> left;
    std::vector<float> right;
    StageWeights weights;
    double place = 0.0;  // of the focus
    double width = 2.0;
    double rate = 0.0;  // frames a second, 16000 to 33000 for recordings of 8 kHz and more

    bool stereo() const { return !left.empty(); }
};

// Filters, changes the rate and mixes. Rates below 16 kHz are doubled, higher ones divided by a
// whole number; the anti-alias filter is a Kaiser-windowed sinc, more than 70 dB down where it
// matters. `silence` frames of silence are put before and after. [any]
WorkingSignal working_signal(const Audio& audio, const Focus& focus, std::size_t silence = 0);

// The rate that working_signal will choose.
double working_rate(SampleRate rate);

}  // namespace bentline
