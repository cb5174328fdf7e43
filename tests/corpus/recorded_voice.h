// A plucked instrument from recorded tones: each is played faster or slower along the pitch that is
// wanted, so that its own attack, decay and colour stay what a microphone or a pickup heard.
//
// Where a recording lies beside its key, and how it drifts, is measured (plain_tone.h) and taken
// out or told to the truth, as for a soundfont. Playing back by windowed sinc, 16 taps a side.
#pragma once

#include <cstddef>
#include <map>
#include <utility>
#include <vector>

#include "tests/corpus/lead_voice.h"
#include "tests/corpus/plain_tone.h"

namespace bentline::corpus {

struct RecordedTone {
    MidiKey key;                 // what it is a recording of, to within 60 cents
    double rate = 44100.0;       // frames of `samples` a second
    std::vector<float> samples;  // mono
    // From here to there it goes round, losing loop_fall of its level each second; equal: it ends.
    std::size_t loop_from = 0;
    std::size_t loop_to = 0;
    Decibels loop_fall{15.0};
};

class RecordedVoice : public LeadVoice {
  public:
    // tones: at least one. A key is played by the tone nearest to it.
    RecordedVoice(std::vector<RecordedTone> tones, SampleRate rate)
        : tones_(std::move(tones)), rate_(rate) {}
    // velocity does not change the colour: there is one recording of a key.
    Sounded play(MidiKey key, int velocity, Seconds length,
                 const std::function<Pitch(Seconds)>& line) override;
    SampleRate rate() const override { return rate_; }

  private:
    const PlainTone& plain_tone(std::size_t which);

    std::vector<RecordedTone> tones_;
    SampleRate rate_;
    std::map<std::size_t, PlainTone> known_;
};

// A loop for a recording that ends too soon: whole periods before its end, about 60 ms, whose seam
// is crossfaded in the recording itself. f: of the recording. Nothing where it is shorter than
// 0.15 s.
void loop_the_end(RecordedTone& tone, Hertz f);

}  // namespace bentline::corpus
