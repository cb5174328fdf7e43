// Reads a Gravis patch (.pat), as of Debian's freepats: an instrument's recorded tones.
#pragma once

#include <filesystem>
#include <vector>

#include "engine/result.h"
#include "tests/corpus/recorded_voice.h"

namespace bentline::corpus {

// Fails where the file is missing, cut short, or holds what this reader does not know (8 bits,
// loops that run backwards). Fields as the GF1 patch format has them (Gravis UltraSound SDK,
// "patch files"; from memory, and checked against every guitar of freepats: test_foreign.cpp).
Result<std::vector<RecordedTone>> read_patch(const std::filesystem::path& file);

}  // namespace bentline::corpus
