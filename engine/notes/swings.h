// Sinusoids of a set of rates fitted to stretches of the line, in constant time a stretch. Private
// to pieces. Least squares of {1, cosine, sine} by sums over [0, i), as for straight pieces. [any]
#pragma once

#include <array>
#include <cstddef>
#include <vector>

#include "engine/notes/note_settings.h"

namespace bentline::notes {

inline constexpr std::size_t swing_rates = 24;
// Hz, from the slowest to the fastest vibrato.
double swing_rate(std::size_t r, const NoteSettings& settings);

// One value for every rate, side by side.
using EveryRate = std::array<double, swing_rates>;

// The sinusoids of every rate at one point of a stretch.
struct SwingTurn {
    EveryRate cosine, sine;
};
// At `length` points, `hop` seconds apart.
std::vector<SwingTurn> swing_turns(double hop, std::size_t length, const NoteSettings& settings);

// Sums over the points before one.
struct SwingSums {
    EveryRate c, s, cc, ss, cs, yc, ys;
};
// The sums after a point of weight w and height y (cents).
void add_to_swings(SwingSums& q, const SwingTurn& turn, double w, double y);

// How well a sinusoid of each rate fits: weighted sum of squares, height of its middle, and the
// square of its depth, 0 where the points do not tell.
struct Swings {
    EveryRate misfit, mean, depth_squared;
};
// Between the points where the sums were `a` and `b`. w: their weight, more than 0; height and
// misfit: of a steady piece there.
void fit_swings(Swings& out, const SwingSums& a, const SwingSums& b, double w, double height,
                double misfit);

}  // namespace bentline::notes
