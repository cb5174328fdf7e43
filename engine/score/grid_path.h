// The cheapest path over grids: which grid each pulse takes and which place each note, for given
// swing and lateness. Inner part of quantise.h, which says what it means.
#pragma once

#include <cstdint>
#include <limits>
#include <vector>

#include "engine/score/quantise.h"

namespace bentline {

// A note as the search sees it.
struct Stroke {
    double at = 0.0;       // pulses from the first pulse, lateness taken out
    double leeway = 0.0;   // pulses: it may be meant up to this much later (a slide that arrives)
    Seconds to_next{1e9};  // until the next note is struck; huge for the last
};

// Which notes a pulse holds and where. place[n]: index on the grid, or -1 for a grace note.
struct PulseChoice {
    Grid grid = Grid::eighths;
    bool straight = false;  // eighths in the middle, in a line that swings
    std::size_t first = 0;  // notes [first, last)
    std::size_t last = 0;
    std::vector<int> place;
};

struct GridPath {
    std::vector<PulseChoice> pulses;
    double cost = std::numeric_limits<double>::infinity();
};

// Where place `index` of a grid lies in its pulse, 0 to 1 of it (a quarter triplet's reach into the
// next): as played (off_beat: where a swung eighth falls) and in ticks.
double place_in_pulse(Grid grid, bool compound, double off_beat, int index);
Ticks place_in_ticks(Grid grid, const Pulse& pulse, int index);
int places_of(Grid grid, bool compound);

// off_beats: where each pulse's swung eighth falls, 0.5 to 0.8 of it. pulses.size() >= 1; strokes
// in order. With `quick`, sextuplets are left out: for searching swing and lateness.
GridPath cheapest_path(const std::vector<Pulse>& pulses, const std::vector<Stroke>& strokes,
                       const std::vector<double>& off_beats, const QuantiseSettings& settings,
                       bool quick = false);

}  // namespace bentline
