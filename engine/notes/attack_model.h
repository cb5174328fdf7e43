// How likely a pluck is, given the evidence: a small fitted model.
#pragma once

#include <vector>

#include "engine/notes/attacks.h"

namespace bentline::notes {

// Natural log-odds of a pluck: a linear part and a dozen tanh units, fitted by logistic loss to
// generated phrases whose plucks are known: sampled, recorded and summed strings, driven guitars
// and winds, alone, in rooms and in bands. tests/notes/fit_models.cpp goes on from these weights.
// [any]
double pluck_log_odds(const EvidenceVector& evidence);

// All weights: a row a unit with its offset, the units' own with theirs, the direct ones. [any]
std::vector<double> pluck_weights();

}  // namespace bentline::notes
