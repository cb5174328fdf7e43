// What the soloist sounds like and where he stands, learned from the recording itself.
#pragma once

#include <array>
#include <optional>
#include <span>

#include "engine/pitch/hypotheses.h"
#include "engine/pitch/path_hints.h"
#include "engine/units.h"

namespace bentline {

// Middle values by loudness. From the moments where the soloist is known for certain if they add up
// to portrait_least; else from the strongest hypotheses of all moments above the bass.
struct Portrait {
    double place = 0.0;        // -1 left to 1 right
    double brightness = 0.0;   // as HarmonicFit::brightness
    double first_share = 0.0;  // as HarmonicFit::first_share
};
inline constexpr std::size_t portrait_least = 40;  // moments

Portrait portrait_of(std::span<const Moment> moments, KnownPitches known);

// How alike a hypothesis is to the soloist rather than to the others: a linear discriminant (Fisher
// 1936) over harmonic envelope, stage place and loudness, learned from the known moments, where
// both he and what else sounds are seen.
class Timbre {
  public:
    // Empty where fewer than portrait_least moments are known.
    static std::optional<Timbre> learn(std::span<const Moment> moments, KnownPitches known);
    // Natural log-odds, softened for how little was heard, between -2 and 0: what sounds like him
    // is left as it is, or his own band would sing in his rests.
    double odds(const Moment& moment, const Hypothesis& h) const;

  private:
    static constexpr std::size_t traits = 6;
    using Traits = std::array<double, traits>;
    static Traits traits_of(const Moment& moment, const Hypothesis& h);
    Traits slope_{};
    Traits middle_{};
    double share_ = 0.0;
};

}  // namespace bentline
