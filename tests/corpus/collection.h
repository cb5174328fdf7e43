// The corpus: which takes there are. A take is named by its set and its number, nothing else.
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <string>
#include <utility>

#include "engine/result.h"
#include "tests/corpus/instruments.h"
#include "tests/corpus/lead_voice.h"
#include "tests/corpus/scene.h"
#include "tests/corpus/take.h"

namespace bentline::corpus {

struct SetChoice {
    Scene scene = Scene::clean;
    Decibels lead_over_band{6.0};  // band only
    Seeds seeds = Seeds::development;
    std::string only_font{};    // part of an instrument's name; empty: all in turn
    Seconds length{8.0};        // of a take, about
    bool unison_bends = false;  // bends sound against the string beside
};

// Makes takes. Instruments stay open between takes.
class Collection {
  public:
    explicit Collection(SetChoice choice) : choice_(std::move(choice)) {}
    // number: from 0. The same take for the same choice and number, always.
    Result<Take> make(int number);
    std::string set_name() const;

  private:
    Result<LeadVoice*> voice(const Instrument& instrument, std::uint64_t seed);

    SetChoice choice_;
    std::map<std::string, std::unique_ptr<LeadVoice>> voices_;  // by name
};

}  // namespace bentline::corpus
