// Where the stretcher gets its sound: frames on one line that may be read at any place.
#pragma once

#include <cstddef>
#include <span>

#include "engine/units.h"

namespace bentline {

// The *line* is the input as the stretcher sees it: an endless row of frames at the recording's
// rate. For a plain file the line is the recording itself; for a loop it is the loop unrolled, so
// that the stretcher never meets a seam. Places before and after the sound read as silence.
class FrameSource {
  public:
    virtual ~FrameSource() = default;

    // Writes line frames [from, from + count) to out[c][0 .. count), every channel of out. Samples
    // must be finite. Must not allocate, lock, throw or wait where it serves the player. [audio]
    virtual void read(Frames from, std::size_t count, std::span<float* const> out) = 0;
};

}  // namespace bentline
