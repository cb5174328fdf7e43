// Sound in memory: an excerpt of a recording, planar float samples at the recording's own rate.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "engine/units.h"

namespace bentline {

// channels[c][i] is frame `start + i` of channel c, nominally in [-1, 1]. One (mono) or two (left,
// right) channels, all of one length. A value: made once, then only read.
struct Audio {
    SampleRate rate;
    Frames start;  // where in the recording the first frame lies
    std::vector<std::vector<float>> channels;

    Frames length() const {
        return Frames(channels.empty() ? 0 : static_cast<std::int64_t>(channels.front().size()));
    }
    Seconds duration() const { return to_seconds(length(), rate); }
    Seconds start_time() const { return to_seconds(start, rate); }
    std::span<const float> channel(std::size_t c) const { return channels[c]; }
};

}  // namespace bentline
