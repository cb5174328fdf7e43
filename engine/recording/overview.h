// The shape of a recording for drawing: lowest, highest and mean level of short stretches, in
// several resolutions, so that any zoom draws from a few thousand numbers.
//
// The overview is made by streaming: memory is bounded by overview_most_bins for the finest level,
// whatever the length (a 3-hour stereo file: under 13 MB), and coarser levels add as much again.
// Deterministic; block sizes of reading do not show in the result.
#pragma once

#include <cstdint>
#include <vector>

#include "engine/recording/audio.h"
#include "engine/recording/recording.h"
#include "engine/result.h"
#include "engine/units.h"
#include "engine/work.h"

namespace bentline {

inline constexpr std::int64_t overview_finest_frames = 256;   // frames a bin, at least
inline constexpr std::size_t overview_most_bins = 1U << 18U;  // bins of the finest level, at most

// One stretch of one channel. lowest <= highest; 0 <= rms <= the larger magnitude of the two.
struct OverviewBin {
    float lowest = 0.0F;
    float highest = 0.0F;
    float rms = 0.0F;
    friend bool operator==(const OverviewBin&, const OverviewBin&) = default;
};

// One resolution: channels[c][b] covers frames [start + b * frames_a_bin, …) of channel c; the last
// bin may cover fewer.
struct OverviewLevel {
    Frames start;
    Frames frames_a_bin{overview_finest_frames};
    std::vector<std::vector<OverviewBin>> channels;

    std::size_t bins() const { return channels.empty() ? 0 : channels.front().size(); }
};

// levels[0] is the finest; each next has twice the frames a bin, down to one bin.
struct Overview {
    SampleRate rate;
    Frames frames;
    std::vector<OverviewLevel> levels;

    // The coarsest level that still has at least `bins` bins over `range`, else the finest. [any]
    const OverviewLevel& level_for(FramesRange range, std::size_t bins) const;
};

// Reads the whole recording once. Failures as Recording::read. [worker]
Result<Overview> make_overview(const Recording& recording, const Work& work = {});

// The overview of sound in memory; frames count from the audio's own first frame. [any]
Overview make_overview(const Audio& audio);

}  // namespace bentline
