// Generated choruses to hand out: a performance (tests/score) with inflections, form, chords, key
// and a guitar, as a draft with every note inked.
#pragma once

#include "engine/draft/draft.h"

namespace bentline::testing {

// The `index`th chorus of `count`, over the spread of tempos, metres, swings and guitars.
Draft made_chorus(int index, int count);

// Every note inked.
Draft all_inked(const Draft& draft);

}  // namespace bentline::testing
