// The weights of the clues, in their order. Inner part of clues.h.
//
// Printed by bentline_beat_fit over 200 generated bands of ten feels, seeds 1 to 12 and again those
// of 3, 6 ... 24 with a soloist who plays triplets and sixteenths; half of them with a tempo that
// breathes by 8 %. The figures that are quoted come from other seeds. Most signs are what a player
// expects: beats are struck, their thirds and quarters seldom by everyone, harmony changes on them
// and most of all at the bar line, snare and hi-hat answer on two and four, a short bass note leads
// to a beat rather than away from it. Drummers alone may be fitted too (seeds from 1000 on), at the
// cost of bands: they are left out.
#pragma once

#include "engine/bars/clues.h"

namespace bentline {

inline constexpr Clues clue_weights = {
    0.665,    // on
    -0.020,   // half
    -4.481,   // third
    -1.306,   // two_thirds
    -1.885,   // quarter
    1.120,    // low_on
    0.122,    // low_half
    0.819,    // high_on
    -0.792,   // high_half
    0.946,    // mid_on
    0.533,    // mid_half
    10.106,   // pickup
    -0.197,   // uneven
    -0.158,   // low_uneven
    36.268,   // harmony
    2.296,    // tempo
    -2.097,   // unusual
    -20.235,  // unsteady
    2.346,    // bar_harmony
    -1.180,   // bar_long_harmony
    -4.791,   // bar_raw_harmony
    -0.498,   // middle_harmony
    0.171,    // bar_low
    1.685,    // bar_mid
    -0.247,   // bar_high
    0.813,    // middle_low
    -1.399,   // back_low
    0.999,    // back_mid
    1.697,    // back_high
    1.085,    // three_low
    -0.276,   // three_mid
    -0.177,   // three_high
    0.877,    // in_three
    0.199,    // in_three_tempo
    -0.016,   // two_threes
    -3.107,   // four_threes
    -2.336,   // threes_tempo
    0.182,    // threes_struck
    0.957,    // threes_balance
    2.172,    // threes_least
};

}  // namespace bentline
