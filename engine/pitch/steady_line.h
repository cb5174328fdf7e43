// Steadies a pitch line where other sounds pull at it.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "engine/units.h"

namespace bentline {

// line[i]: pitches of neighbouring moments, empty where there is none; clear[i]: that moment's
// pitch is certain and stays. Every other one is taken from a curve of the second degree through
// those up to `steady_reach` moments before and after, without a gap and without a leap of 80 cents
// between any of them and the middle (local polynomial regression: Savitzky & Golay 1964), fitted
// so that single ones that lie apart hardly count (iteratively reweighted, Cauchy weights: Holland
// & Welsch 1977). A straight glide and a slow bend stay what they are. [any]
inline constexpr std::size_t steady_reach = 5;
// What a vibrato of 7 Hz loses of its depth where nothing is clear, moments of 5 ms:
inline constexpr double steady_vibrato_loss = 0.1;
std::vector<std::optional<Hertz>> steady_line(std::span<const std::optional<Hertz>> line,
                                              const std::vector<bool>& clear);

}  // namespace bentline
