// A second thing to hear beside the recording: the interface by which the player asks for it.
//
// The player knows nothing of drafts. Whatever can sound at any place of the recording implements
// this; it gets the place, the speed and the tuning of every block and follows loops, seeks and
// changes of speed by them alone.
#pragma once

#include <span>

#include "engine/units.h"

namespace bentline {

// Where the first frame of a block lies in the recording, and how far a frame moves on.
struct PlaceInTime {
    Seconds at;
    Seconds a_frame;  // recording time that passes in one output frame; > 0
};

class SecondSource {
  public:
    virtual ~SecondSource() = default;

    // Frames per second of the blocks asked for. Allocates. Not while a callback runs. [window]
    virtual void set_rate(SampleRate rate) = 0;
    // Writes the frames of a block, one channel, |x| <= 1. Frame i belongs to the recording time
    // `place.at + i * place.a_frame`. A place that does not go on where the last block ended is a
    // jump: what sounded is damped. retune: on top of its own tuning. Never allocates, locks,
    // throws or waits. [audio]
    virtual void render(PlaceInTime place, Cents retune, std::span<float> out) = 0;
    // Carries on with what `before` was sounding, which is not used any more. The default starts
    // anew. Never allocates, locks, throws or waits. [audio]
    virtual void take_over(SecondSource& before) { static_cast<void>(before); }
    // Silences what sounds, within 10 ms of the frames rendered next. [audio]
    virtual void hush() = 0;
};

// How loud the two are: balance 0 is the recording alone, 1 the second source alone, 0.5 both in
// full; between them one fades in a straight line. 0 to 1.
struct BalanceGains {
    double recording = 1.0;
    double second = 0.0;
};
constexpr BalanceGains gains_at(double balance) {
    return {balance <= 0.5 ? 1.0 : 2.0 * (1.0 - balance), balance >= 0.5 ? 1.0 : 2.0 * balance};
}

}  // namespace bentline
