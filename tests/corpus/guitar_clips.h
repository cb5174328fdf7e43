// An electric guitar from recorded phrases of Debian's sonic-pi-samples (CC0): the tones in them
// that sound alone.
#pragma once

#include <vector>

#include "engine/result.h"
#include "tests/corpus/recorded_voice.h"

namespace bentline::corpus {

// Fails where the clips are not installed.
Result<std::vector<RecordedTone>> guitar_clip_tones();

}  // namespace bentline::corpus
