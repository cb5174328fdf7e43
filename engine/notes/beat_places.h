// Where in the beat a soloist begins his notes, learned from the attacks of the recording.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "engine/notes/attacks.h"
#include "engine/units.h"

namespace bentline::notes {

// Two densities over the phase of the beat: of plucks that are his, and of rises in the sound that
// are somebody else's, who keeps to the beat as well. Each attack teaches both by its log-odds:
// swung, straight, laid back or ahead as they happen to play. What few attacks cannot tell comes
// from the usual places of notes (eighths, swung eighths, triplets, sixteenths: common practice, no
// source), which count as much as 16 attacks.
class BeatPlaces {
  public:
    // Empty with fewer than three beats.
    static std::optional<BeatPlaces> learn(const std::vector<Seconds>& beats,
                                           const Attacks& attacks);
    // What its place in the beat adds to an attack's log-odds, 0 to 2; 0 outside the beats. No
    // place speaks against one: sweeps, ornaments and whole phrases lie off the beat, and on
    // generated music what that cost was more than it spared. Of a pluck that was learned from, its
    // own part is left out.
    double log_odds(double seconds) const;
    double log_odds(const Pluck& learned) const;

  private:
    static constexpr std::size_t places = 72;
    using Density = std::array<double, places>;
    std::optional<double> phase(double seconds) const;
    double without(double phase, double his, double others) const;
    std::vector<Seconds> beats_;
    Density his_{};  // sums of kernels, the usual places included
    Density others_{};
    double his_count_ = 0.0;
    double others_count_ = 0.0;
};

}  // namespace bentline::notes
