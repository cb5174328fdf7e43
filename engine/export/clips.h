// Practice clips: the recording, line by line, at several speeds with a count-in, named by bars.
//
// With bars, a clip is a line of the chart: four bars, a section's first bar always at a line's
// beginning, a pickup with the line that it leads into. One bar of clicks counts in at the clip's
// own speed, the first of them higher; the line's first bar begins right after the last click, and
// what the player does just before that bar line (up to clip_early beats) is heard under it.
// Without bars, a clip is a phrase: notes without a pause of clip_pause between them, named by its
// second, and nothing counts in.
//
// Names: "bars-05-08-75.wav" (bars 5 to 8 at 75 %), "second-0012.50-75.wav". WAV, 24 bit, at the
// recording's rate and channels. Clicks peak at click_level, so that they start no louder than
// music does. The same draft and recording give the same bytes. [worker]
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "engine/draft/draft.h"
#include "engine/recording/recording.h"
#include "engine/result.h"
#include "engine/work.h"

namespace bentline {

inline constexpr Beats clip_early{0.125};  // a hair before the bar line belongs to the bar
inline constexpr Beats clip_ring{0.25};    // and the last note rings this far beyond it
inline constexpr Seconds clip_pause{0.5};
inline constexpr Decibels click_level{-15.0};  // peak, re full scale
inline constexpr int clip_bars = 4;

struct ClipPlan {
    std::string name;             // without speed and extension: "bars-05-08"
    SecondsRange sound;           // of the recording
    Seconds bar_line;             // where counting ends; sound.from lies at or before it
    std::vector<Seconds> clicks;  // before bar_line, in recording time; empty: none
};

// Every clip of the draft, in order. Empty where it has neither bars to play nor notes.
std::vector<ClipPlan> plan_clips(const Draft& draft, WhichNotes which);

// The speeds that clips are made at, in percent.
inline constexpr int clip_speeds[] = {50, 75, 100};
// "bars-05-08-75.wav"
std::string clip_file(const ClipPlan& plan, int percent);

// Writes every clip at every speed into a folder that is there, and returns how many. What lies
// outside the recording is left out; a clip that has nothing left is not written. Fails as
// Recording::read does, with cannot_write, and when stopped.
Result<int> write_planned_clips(const std::vector<ClipPlan>& plans, const Recording& recording,
                                const std::filesystem::path& folder, const Work& work = {});

}  // namespace bentline
