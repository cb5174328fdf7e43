// Where in the beat a soloist begins his notes, learned from the attacks that are clear.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "engine/notes/attacks.h"
#include "engine/units.h"

namespace bentline::notes {

// A density over the phase of the beat, against an even one: swung, straight, laid back or ahead as
// he happens to play, not as a grid would have it. Mild by design: between -0.9 and 0.9.
class BeatPlaces {
  public:
    // Clear attacks: log-odds of 2 and more. Empty without three beats or with fewer than 12 clear
    // attacks on them.
    static std::optional<BeatPlaces> learn(const std::vector<Seconds>& beats,
                                           const Attacks& attacks);
    // Natural log of how much likelier an onset is at this time than at any other of its beat; 0
    // outside the beats.
    double log_odds(double seconds) const;

  private:
    static constexpr std::size_t places = 48;
    std::optional<double> phase(double seconds) const;
    std::vector<Seconds> beats_;
    std::array<double, places> density_{};  // 1: even
};

}  // namespace bentline::notes
