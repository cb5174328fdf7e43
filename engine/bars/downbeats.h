// Which beats begin a bar, how many beats a bar has, and how the band swings.
#pragma once

#include <optional>
#include <vector>

#include "engine/bars/onset_strength.h"

namespace bentline {

struct Downbeats {
    int beats_per_bar = 4;
    std::size_t first = 0;  // index of the first downbeat
    double score = 0.0;     // of the best against the mean of all, in standard errors
};
// choices: the beats a bar may have, 2 to 12. beats: frames of the strength, at least two bars of
// them.
Downbeats find_downbeats(const OnsetStrength& strength, const ChromaReader& chroma,
                         const std::vector<double>& beats, const std::vector<int>& choices);

// Where between the beats the band plays: the share of the beat at which off-beats lie, 0.45 to
// 0.8. Empty where hardly anything is there.
std::optional<double> off_beat(const OnsetStrength& strength, const std::vector<double>& beats);

// True where beats are played in three: both thirds are struck.
bool in_three(const OnsetStrength& strength, const std::vector<double>& beats);

}  // namespace bentline
