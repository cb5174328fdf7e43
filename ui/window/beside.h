// What lies beside a recording and comes along with it.
#pragma once

#include <filesystem>

#include "engine/draft/draft.h"

namespace bentline::window {

// Beats and chords that lie beside a recording under its name ("solo.beats.json" as the beat
// follower writes it, "solo.chords.txt") come along with it. What cannot be read stays out.
// [worker]
void take_what_lies_beside(Draft& draft, const std::filesystem::path& recording);

}  // namespace bentline::window
