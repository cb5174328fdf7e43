// An instrument from a soundfont, played one stroke at a time with its pitch under control.
//
// Soundfont samples lie a few cents off their key, drift while they ring, and speak some
// milliseconds after the key goes down. All three are measured on the plain tone of each key
// (plain_tone.h) and either taken out (tuning, delay) or told to the truth (drift).
#pragma once

#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <utility>
#include <vector>

#include "engine/result.h"
#include "engine/units.h"
#include "tests/corpus/lead_voice.h"
#include "tests/corpus/plain_tone.h"

namespace bentline::corpus {

class SampledVoice : public LeadVoice {
  public:
    // font: an SF2 or SF3 file. program: General MIDI number from 0 (24 nylon … 27 clean electric).
    static Result<SampledVoice> open(const std::filesystem::path& font, int program,
                                     SampleRate rate, Drift drift = Drift::plucked);
    SampledVoice(SampledVoice&&) noexcept;
    ~SampledVoice() override;

    // Sounds `key` for `length` after it speaks; `line` gives the pitch wanted at each time since
    // then, at most 12 semitones away from the key. In tune at 150 ms into the tone.
    Sounded play(MidiKey key, int velocity, Seconds length,
                 const std::function<Pitch(Seconds)>& line) override;
    const PlainTone& plain_tone(MidiKey key, int velocity);
    SampleRate rate() const override { return rate_; }

  private:
    struct Synth;
    SampledVoice(std::unique_ptr<Synth> synth, SampleRate rate, Drift drift);
    std::vector<float> run(MidiKey key, int velocity, Frames length,
                           const std::function<Cents(Frames)>& bend);

    std::unique_ptr<Synth> synth_;
    SampleRate rate_;
    Drift drift_;
    std::map<std::pair<int, int>, PlainTone> known_;
};

}  // namespace bentline::corpus
