// Whoever sounds the strokes of a lead.
#pragma once

#include <functional>
#include <vector>

#include "engine/units.h"

namespace bentline::corpus {

// Pitch is told in blocks of this many frames; FluidSynth changes it at their borders.
inline constexpr int pitch_block = 64;

// One stroke as sound. Frame `pluck` is where it speaks; frames before it are the sample's lead-in.
struct Sounded {
    std::vector<float> samples;
    Frames pluck;
    std::vector<Pitch> pitch;  // as sounding, one value each pitch_block frames, at its middle
    Decibels plain_level;      // the loudest 20 ms of the key's plain tone
};

class LeadVoice {
  public:
    virtual ~LeadVoice() = default;
    // Sounds `key` for `length` after it speaks; `line` gives the pitch wanted at each time since
    // then, at most 12 semitones away from the key. velocity: 1 to 127, for the timbre.
    virtual Sounded play(MidiKey key, int velocity, Seconds length,
                         const std::function<Pitch(Seconds)>& line) = 0;
    virtual SampleRate rate() const = 0;
};

}  // namespace bentline::corpus
