// Things that stand in a row, each at a place of its own, moved as little as it takes that none
// lies on the next: the sum of the squares of the ways is the least there is (Barlow, Bartholomew,
// Bremner & Brunk 1972, ch. 1: pooling of neighbours that are out of order). [any]
#pragma once

#include <vector>

namespace bentline::window {

struct Row {
    std::vector<double> wanted;  // where each would like to stand, rising
    std::vector<double> apart;   // the least way from each to the next: one fewer
    double from, to;             // none stands before or beyond; without room, none before
    double most;                 // none goes farther from where it would like to stand: comes first
};

// Where each stands: in order; what has room stays exactly where it wants to be.
std::vector<double> spread(const Row& row);

}  // namespace bentline::window
