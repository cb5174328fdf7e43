// The corpus: which takes there are. A take is named by its set and its number, nothing else.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>

#include "engine/result.h"
#include "tests/corpus/sampled_voice.h"
#include "tests/corpus/scene.h"
#include "tests/corpus/take.h"

namespace bentline::corpus {

struct SetChoice {
    Scene scene = Scene::clean;
    Decibels lead_over_band{6.0};  // band only
    // Development takes may be looked at while the engine is made. Locked ones have other seeds,
    // and instruments that the development set lacks; they are only scored.
    bool locked = false;
    std::string only_font;      // part of a font's file name; empty: all in turn
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
    Result<SampledVoice*> voice(const std::string& font, int program);

    SetChoice choice_;
    std::map<std::pair<std::string, int>, SampledVoice> voices_;
};

// False, with the reason, where a soundfont is not installed.
std::optional<std::string> missing_soundfont(bool locked);

}  // namespace bentline::corpus
