// Fits the standard errors that the note stage states (engine/notes/figure_errors.cpp).
#pragma once

#include <array>
#include <cstddef>
#include <utility>
#include <vector>

#include "engine/notes/figure_errors.h"
#include "tests/corpus/take.h"
#include "tests/notes/listened.h"

namespace bentline::testing {

// Errors that were made, and what the scatter of the line alone says of them.
// Of each figure, of notes that sound alone and of the others.
using Errors = std::array<std::vector<std::pair<double, double>>,
                          2 * static_cast<std::size_t>(notes::Measured::count)>;

// Adds those of one take.
void gather_errors(const corpus::Take& take, const Listened& heard, Errors& errors);

// The factor and the least error with which 68 % lie within one error, in the surer half as in the
// other. Prints them.
void fit_errors(Errors errors);

}  // namespace bentline::testing
