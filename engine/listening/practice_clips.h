// Practice clips: one stretch of a recording as sound files at several speeds.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "engine/recording/recording.h"
#include "engine/result.h"
#include "engine/units.h"
#include "engine/work.h"

namespace bentline {

struct ClipSettings {
    std::vector<double> speeds{0.5, 0.75, 1.0};  // each 0.1 to 2
    Cents retune;                                // -1200 to 1200
};

// Writes `range` once for every speed into the folder (made if it is not there), as "STEM-50.wav"
// for half speed and so on (percent, rounded), and returns the paths in the order of the speeds.
// Each file as slow_file makes it. When one fails, those already written stay, and a folder that
// was made for none goes. Fails as slow_file does, and with cannot_write when the folder cannot be
// made. [worker]
Result<std::vector<std::filesystem::path>> write_clips(
    const Recording& recording, FramesRange range, const ClipSettings& settings,
    const std::filesystem::path& folder, const std::string& stem, const Work& work = {});

}  // namespace bentline
