// Draws how far confidences can be believed.
#pragma once

#include <filesystem>
#include <span>

#include "engine/result.h"
#include "tests/corpus/scoreboard.h"

namespace bentline::corpus {

// Into `folder` (made if need be): calibration.svg, a reliability diagram of notes and one of
// inflections with a line a set (share right over confidence; dots as large as the notes in them
// are many; the diagonal is a listener who knows what he knows), and calibration.txt, the same in
// numbers with each set's expected calibration error.
Result<Done> plot_reliability(const std::filesystem::path& folder,
                              std::span<const Scoreboard> boards);

}  // namespace bentline::corpus
