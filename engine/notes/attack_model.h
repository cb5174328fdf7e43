// How likely a pluck is, given the evidence: a small fitted model.
#pragma once

#include "engine/notes/attacks.h"

namespace bentline::notes {

// Natural log-odds of a pluck: a linear part and a dozen tanh units, fitted by logistic loss with
// weight decay to generated phrases whose plucks are known: six sampled guitars, alone, under
// another line, band-limited with hiss, and in a room. tests/notes/fit_models.cpp fits it anew.
// [any]
double pluck_log_odds(const EvidenceVector& evidence);

}  // namespace bentline::notes
