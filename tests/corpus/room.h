// What lies between a band and the file: the room, the microphone's band limits, hiss, tape.
#pragma once

#include <cstdint>
#include <functional>

#include "engine/units.h"
#include "tests/corpus/accompaniment.h"
#include "tests/corpus/take.h"
#include "tests/support/dice.h"

namespace bentline::corpus {

// A room's answer to a click: early reflections by chance and a tail of noise that decays evenly in
// dB (Moorer 1979), duller as it goes. Left and right differ.
struct RoomAnswer {
    std::vector<float> left;
    std::vector<float> right;
};
RoomAnswer draw_room(testing::Dice& dice, Seconds to_minus_60_db, SampleRate rate);

// Adds the room to dry sound: `wet` is the energy of the room's answer re the direct sound.
void add_room(Stereo& sound, const RoomAnswer& room, Decibels wet);

// First-order high-pass at `low`, second-order low-pass at `high`.
void limit_band(Stereo& sound, Hertz low, Hertz high, SampleRate rate);

// A tape that runs `off` sharp (negative: flat) and wows by `depth` to each side at `rate`.
struct Tape {
    Cents off;
    Cents wow_depth;
    Hertz wow_rate;
    double phase = 0.0;
    bool still() const { return off == Cents(0) && wow_depth == Cents(0); }
};
// Plays sound and truth from that tape: times are warped and pitches move with them, exactly. The
// truth's tuning becomes `off`.
void run_tape(const Tape& tape, Stereo& sound, Truth& truth, SampleRate rate);

}  // namespace bentline::corpus
