// What a pulse's grid, its pattern and its neighbour cost. Inner part of grid_path.h.
#pragma once

#include <array>
#include <cstddef>

#include "engine/score/quantise.h"

namespace bentline {

// More than any line costs: a pattern that a simpler grid writes.
inline constexpr double no_pattern = 1e9;

// What a pulse can be. Swung and straight eighths are written alike; keeping them apart lets a
// player straighten a beat or a passage.
enum GridState : int {
    swung,
    straight,
    triplets,
    sixteenths,
    sextuplets,
    thirty_seconds,
    quarter_triplets,  // over two pulses
    state_count
};

inline constexpr std::array<Grid, state_count> grid_of = {
    Grid::eighths,    Grid::eighths,        Grid::triplets,        Grid::sixteenths,
    Grid::sextuplets, Grid::thirty_seconds, Grid::quarter_triplets};

// mask: which places of the grid are struck (bit 0: the beat itself).
double pattern_cost(GridState state, bool compound, unsigned mask);
// Neighbours tend to share a grid.
double change_cost(int before, int now);
// z^2 / 2, going on straight past 2.5: one stray note is no disaster.
double rounded_square(double z);

}  // namespace bentline
