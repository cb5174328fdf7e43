// Takes for training: the corpus's player and stage, with far more kinds of leads, bands and sound
// than the corpus has, under seeds that it never uses.
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "engine/result.h"
#include "tests/corpus/lead_voice.h"
#include "tests/corpus/take.h"
#include "tests/support/dice.h"

namespace bentline::corpus {

// A take, and whether it is to be listened to as a user would who points at the soloist.
struct TrainingTake {
    Take take;
    bool pointed = false;
};

class WideTakes {
  public:
    // files: soundfonts that the leads and the bands are drawn from (at least one), and patches
    // (.pat), for leads alone.
    explicit WideTakes(const std::vector<std::string>& files);
    // The same take for the same files and number, always. Fails where a file cannot be read.
    Result<TrainingTake> make(int number);

  private:
    Result<LeadVoice*> draw_voice(testing::Dice& dice, std::uint64_t seed);

    std::vector<std::string> fonts_;
    std::vector<std::string> patches_;
    std::map<std::pair<std::string, int>, std::unique_ptr<LeadVoice>> voices_;
    std::unique_ptr<LeadVoice> drawn_;  // for one take
};

}  // namespace bentline::corpus
