// Writes a take and what was heard in it, for looking at by ear and eye.
#pragma once

#include <filesystem>

#include "engine/result.h"
#include "tests/corpus/scoreboard.h"
#include "tests/corpus/take.h"

namespace bentline::corpus {

// Into `folder` (made if need be): take_<number>.wav and take_<number>.json with "name", "truth"
// and "heard", each "notes" as in the machine-readable results and "f0_hz" by rows of 10 ms (0:
// none).
Result<Done> save_case(const std::filesystem::path& folder, int number, const Take& take,
                       const Heard& heard);

}  // namespace bentline::corpus
