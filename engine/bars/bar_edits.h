// What a player does to a bar map: taps along, drags a beat, says where bar 1 is, mends bars.
//
// Each function returns a new map or says why it cannot be (out_of_range); SetBars
// (engine/draft/edit.h) puts the result into the draft, where it can be undone. None of them moves
// a note in time: only what the times are called changes. [any]
#pragma once

#include <vector>

#include "engine/bars/bar_map.h"

namespace bentline {

// An onset this near to a tap is what was tapped to. (Tapping along is uneven by 20 to 40 ms:
// common practice, no source.)
inline constexpr Seconds tap_snap{0.05};
// Two beats never come closer.
inline constexpr Seconds closest_beats{0.05};

// The beats that taps mean, made along the recording in any order, at least three of them. Taps
// closer than a third of the usual distance count once; where taps were missed, beats are filled in
// evenly; each is drawn to the nearest onset within tap_snap. onsets: rising; may be empty.
//   x   x   .   x  x   ->   x   x   x   x   x
Result<std::vector<Seconds>> read_taps(std::vector<Seconds> taps,
                                       const std::vector<Seconds>& onsets);
// The map of them; the first tap is the first beat of bar 1.
Result<BarMap> tap_along(std::vector<Seconds> taps, const std::vector<Seconds>& onsets,
                         Metre metre);

// Moves one beat to a time between its neighbours, which stay.
//   | x  x  x  x |   ->   | x   x x  x |
Result<BarMap> drag_beat(const BarMap& map, int beat, Seconds to);

// The beat nearest to a time becomes the first of bar 1; all beats stay where they are.
Result<BarMap> bar_one_here(const BarMap& map, Seconds time);
// Shifts all beats alike so that the nearest one lies at the time, and makes it the first of bar 1.
Result<BarMap> bar_one_exactly_here(const BarMap& map, Seconds time);

// A tempo that was taken for half or double what it is: every beat parted in two, or every other
// beat taken out (those of bar 1's first beat stay). One metre throughout only.
Result<BarMap> double_time(const BarMap& map);
Result<BarMap> half_time(const BarMap& map);

// One bar of another metre; the next has the old one again. Beats stay, so later bar lines move.
//   | 1 2 3 4 | 1 2 3 4 |   ->   | 1 2 | 1 2 3 4 | 1 2 …
Result<BarMap> set_bar_metre(const BarMap& map, int bar, Metre metre);

// One bar too many was counted: `bar` and the next become one, over the time of both.
//   | 1 2 3 4 | 1 2 3 4 |   ->   | 1   2   3   4   |
Result<BarMap> drop_bar(const BarMap& map, int bar);
// One too few: `bar` becomes two.
//   | 1   2   3   4   |   ->   | 1 2 3 4 | 1 2 3 4 |
Result<BarMap> insert_bar(const BarMap& map, int bar);

// Makes bars a stretch without a pulse (a rubato): they keep their ends and are parted evenly
// inside; or gives the stretch a pulse again, even until it is tapped.
Result<BarMap> set_free(const BarMap& map, Range<int> bars, bool free);

}  // namespace bentline
