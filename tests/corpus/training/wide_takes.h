// Takes for training: the corpus's player and stage, with far more kinds of leads, bands and sound
// than the corpus has, under seeds that it never uses.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "engine/result.h"
#include "tests/corpus/sampled_voice.h"
#include "tests/corpus/take.h"

namespace bentline::corpus {

// A take, and whether it is to be listened to as a user would who points at the soloist.
struct TrainingTake {
    Take take;
    bool pointed = false;
};

class WideTakes {
  public:
    // Soundfonts that the leads and the bands are drawn from.
    explicit WideTakes(std::vector<std::string> fonts) : fonts_(std::move(fonts)) {}
    // The same take for the same fonts and number, always. Fails where a font cannot be read.
    Result<TrainingTake> make(int number);

  private:
    std::vector<std::string> fonts_;
    std::map<std::pair<std::string, int>, SampledVoice> voices_;
};

}  // namespace bentline::corpus
