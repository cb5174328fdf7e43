// Slows a recording of any length from file to file, in bounded memory.
#pragma once

#include <filesystem>

#include "engine/recording/atomic_file.h"
#include "engine/recording/recording.h"
#include "engine/result.h"
#include "engine/units.h"
#include "engine/work.h"

namespace bentline {

// So long an excerpt fades in and out as heard, where it was cut out of the recording.
inline constexpr Seconds cut_fade{0.005};

// Writes the frames of `range` at `speed` (0.1 to 2), its pitch moved by `retune` (-1200 to 1200
// cents), as a WAV file (24 bit) of the recording's rate and channels, exactly
// round(frames / speed) frames long. What lies before and after the range is not heard; an end
// of the range that is not the recording's own fades over cut_fade, so that the cut does not click
// (at speed 1 and 0 cents the output is the input, sample for sample). Memory: a
// few seconds of sound, whatever the length. Atomic: nothing is left of a file that did not get
// done. Fails with out_of_range, as Recording::read does, with cannot_write (also where `out` is
// the recording itself), and when stopped. [worker]
Result<Done> slow_file(const Recording& recording, FramesRange range, double speed, Cents retune,
                       const std::filesystem::path& out, const Work& work = {});

// The same into a file that is open, or through a pipe: atomic_file.h. Nothing goes through a pipe
// before all of it is made.
Result<Done> slow_file(const Recording& recording, FramesRange range, double speed, Cents retune,
                       AtomicFile out, const Work& work = {});

}  // namespace bentline
