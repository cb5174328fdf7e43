// Which tempos a band may be playing: candidates by self-likeness, each with its best row of beats.
#pragma once

#include <vector>

#include "engine/bars/beat_path.h"
#include "engine/bars/beats.h"
#include "engine/bars/clues.h"
#include "engine/bars/onset_strength.h"

namespace bentline {

// The strongest periods of the strength, and their halves, doubles and thirds, within the range;
// each with its best row of beats, and that row half a beat later.
std::vector<BeatRow> beat_rows(const Heard& heard, const BeatSettings& settings);

}  // namespace bentline
