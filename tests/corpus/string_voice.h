// A plucked string summed from its partials: an instrument of which everything is known, and each
// take its own. It keeps the scores from resting on a few soundfonts.
#pragma once

#include <cstdint>

#include "tests/corpus/lead_voice.h"

namespace bentline::corpus {

// What is drawn for one instrument.
struct StringMake {
    double plucked_at;   // share of the string's length, from the bridge
    double heard_at;     // place of the pickup likewise; 0: none (a bridge and a body)
    double slope;        // partial n is weighed by n to the minus this
    double stiffness;    // B on an open low string; falls by half in an octave
    Seconds ring;        // decay to 1/e of a fundamental of 200 Hz
    double ring_slope;   // partial n decays 1 + this (n - 1) times as fast
    Cents struck_sharp;  // how much a pluck stretches the string at first
    Seconds settling;    // how soon that goes (to 1/e)
    double second;       // level of the other polarisation, whose pitch is off by
    Cents second_off;    // this: slow beats
    double body[3];      // Hz of a body's resonances, where there is no pickup
};
StringMake draw_string(std::uint64_t seed);

// Its pitch is exact by construction: the mean of the first five partials, weighed as their power
// and their number squared (as repetition.h measures it), lies on the line asked for, plus what the
// pluck stretches.
class StringVoice : public LeadVoice {
  public:
    StringVoice(const StringMake& make, SampleRate rate) : make_(make), rate_(rate) {}
    Sounded play(MidiKey key, int velocity, Seconds length,
                 const std::function<Pitch(Seconds)>& line) override;
    SampleRate rate() const override { return rate_; }

  private:
    StringMake make_;
    SampleRate rate_;
};

}  // namespace bentline::corpus
