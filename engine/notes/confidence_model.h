// How likely a note and its inflections are right: small fitted models.
#pragma once

#include "engine/notes/weighing.h"

namespace bentline::notes {

// Natural log-odds that the soloist played a note with this evidence (at its onset within 50 ms,
// its pitch within 50 cents). Fitted by logistic loss to what the tracker and this stage made of
// generated takes, alone, in a room and in bands; tests/notes/fit_models.cpp fits it anew. [any]
double note_log_odds(const TellingVector& telling);

// The same for an inflection of such a note: kind is its place in InflectionKind, `read` the
// log-odds with which it was read from the line alone. [any]
double inflection_log_odds(std::size_t kind, double read, double note_odds,
                           const TellingVector& telling);

}  // namespace bentline::notes
