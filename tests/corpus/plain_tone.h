// What a recorded tone is really like: measured by repetition (repetition.h), not by the engine.
#pragma once

#include <span>
#include <utility>
#include <vector>

#include "engine/units.h"

namespace bentline::corpus {

// What a key's plain tone is like. Times from the note-on.
struct PlainTone {
    Seconds delay;   // until the sound first reaches a tenth of its peak
    Decibels level;  // RMS of the loudest 20 ms, as the synthesizer gives it
    std::vector<std::pair<Seconds, Cents>> drift;  // its pitch above the key, measured, by time
                                                   // since `delay`
    Cents pitch_at(Seconds since_delay) const;     // between the points; flat outside them
};

// How closely a tone's drift is measured: a plucked one at nine places, close together at first; a
// breathed one, which wavers, every 25 ms.
enum class Drift { plucked, breathed };

// x: two seconds of the tone as it is recorded for `key`, mono.
PlainTone measure_plain_tone(std::span<const float> x, SampleRate rate, MidiKey key,
                             Drift drift = Drift::plucked);

}  // namespace bentline::corpus
