// A plucked string as a delay line that feeds back through its losses, with pickup and amplifier:
// an instrument that shares neither samples nor formulas with the others.
//
// Karplus & Strong 1983; Jaffe & Smith 1983 (losses, place of the pluck). Loop filter and
// interpolation delay all frequencies alike, so that the partials are harmonic.
#pragma once

#include <cstdint>
#include <vector>

#include "tests/corpus/recorded_voice.h"

namespace bentline::corpus {

// What is drawn for one instrument.
struct WaveguideMake {
    double plucked_at;  // share of the string's length, from the bridge
    double heard_at;    // place of the pickup, likewise
    double loss;        // weight of the loop filter's neighbours, 0 (none) to 0.5, at 200 Hz
    Seconds ring;       // until the fundamental has fallen by 60 dB, at 200 Hz
    Hertz pick;         // corner of the pluck's own spectrum
    double scrape;      // noise in the pluck, re its step
    Decibels drive;     // of the amplifier's soft limit; under 0 hardly any
    Hertz cabinet;      // above this the loudspeaker falls off
};
WaveguideMake draw_waveguide(std::uint64_t seed);

// Tones at every third key from 40 to 88, 2.2 s each.
std::vector<RecordedTone> waveguide_tones(const WaveguideMake& make, std::uint64_t seed);

}  // namespace bentline::corpus
