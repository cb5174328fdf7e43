// A measure as a line of text, and what must hold in every score.
#pragma once

#include <string>

#include "engine/score/score.h"

namespace bentline::testing {

// "4. 8~ | …": shapes with dots; r before rests, ~ for ties, 3:2(…) round tuplets, "bar" for the
// rest that fills a measure.
std::string rhythm_text(const Measure& measure);

// The same with names, grace notes in braces, accidentals shown as *, beams as [ = ].
std::string full_text(const Measure& measure);

// Empty if the measures add up, tuplets are full, shapes sound as long as they say, beams open and
// close and ties meet the same pitch; else what is wrong.
std::string fault_of(const Score& score);

}  // namespace bentline::testing
