// Where a note is damped and only the room still rings.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "engine/units.h"

namespace bentline {

// One moment of the line, as the damping of a note shows in it.
struct HeardMoment {
    std::optional<Hertz> pitch;  // empty where no lead is followed
    double level = -120.0;       // dB re full scale, over a few ms
    double aperiodicity = 1.0;   // of the whole sound at that pitch; 0: it repeats itself exactly
};

// True at the moments of the line at which its note is over and what is followed is his tail in the
// room. A hand that damps a string takes away 60 dB in 20 to 70 ms, hundreds of dB a second (common
// practice, no source); a string left to itself sinks by tens, and a room, which sinks evenly in dB
// (Moorer 1979, "About this reverberation business"), by 60 to 240. So a tail begins after a fall
// of at least least_damping beyond the note's own decay within 15 ms, at a pitch that stays, of a
// sound that is alone before it and was not struck just then; its end by the hand is where the
// steepest of the fall has taken 16 dB. It lasts until the level rises or the pitch leaves, 15 ms
// at least; what lasts longer than 0.3 s, or does not sink on, sounds by itself and is no tail.
// Under other sounds a fall of the whole says nothing of the lead, and nothing is called a tail.
// hop: 2 to 20 ms. The limits are chosen on generated music. [any]
inline constexpr Decibels least_damping{6.0};
std::vector<bool> damped_tails(std::span<const HeardMoment> line, Seconds hop);

}  // namespace bentline
