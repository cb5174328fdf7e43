// How much sound comes from each place on the stage, for choosing a focus.
//
// In short spectra each bin is given its place from the levels of the two channels by the
// constant-power law, place = 4/pi * atan(right/left) - 1 (the idea of Avendano 2003,
// "Frequency-domain source identification and manipulation in stereo mixes"), and its energy is
// added there.
#pragma once

#include <cstddef>
#include <vector>

#include "engine/recording/audio.h"
#include "engine/units.h"

namespace bentline {

// share[i]: energy from around place -1 + (2 i + 1) / share.size(), the largest 1; all 0 in
// silence.
struct StageProfile {
    std::vector<float> share;
};

// The band that is counted: a guitar's fundamentals and first partials; below it basses and drums,
// above it cymbals would tell (common practice, no source).
inline constexpr Hertz stage_lowest{80.0};
inline constexpr Hertz stage_highest{4000.0};

// Of the part of the audio inside `span`. Mono sound all comes from the middle. A tone panned by
// the constant-power law appears within one step of its place. Looks at no more than 1,500 spectra,
// spread evenly, so it takes well under a second for any length. steps: 3 to 1,000. [worker]
StageProfile stage_profile(const Audio& audio, SecondsRange span, std::size_t steps = 96);

}  // namespace bentline
