// The weights of the clues, in their order. Inner part of clues.h.
//
// Printed by bentline_beat_fit over 120 generated bands, seeds 1 to 12 of ten feels, those of even
// seeds with a tempo that breathes by 8 %; the figures that are quoted come from other seeds. Most
// signs are what a player expects: beats are struck, their thirds and quarters seldom by everyone,
// harmony changes on them and most of all at the bar line, snare and hi-hat answer on two and four,
// a short bass note leads to a beat rather than away from it.
#pragma once

#include "engine/bars/clues.h"

namespace bentline {

inline constexpr Clues clue_weights = {
    0.522,   // on
    0.071,   // half
    -4.582,  // third
    -1.585,  // two_thirds
    -1.719,  // quarter
    0.745,   // low_on
    0.078,   // low_half
    0.523,   // high_on
    -0.608,  // high_half
    0.781,   // mid_on
    0.633,   // mid_half
    9.842,   // pickup
    -0.249,  // uneven
    0.162,   // low_uneven
    51.542,  // harmony
    2.124,   // tempo
    -2.449,  // unusual
    -1.171,  // unsteady
    2.409,   // bar_harmony
    -1.284,  // bar_long_harmony
    -0.144,  // bar_raw_harmony
    -0.101,  // middle_harmony
    -0.100,  // bar_low
    2.039,   // bar_mid
    -0.569,  // bar_high
    0.504,   // middle_low
    -1.189,  // back_low
    1.074,   // back_mid
    1.775,   // back_high
    0.950,   // three_low
    -0.243,  // three_mid
    -0.194,  // three_high
    1.109,   // in_three
    -0.268,  // in_three_tempo
    0.871,   // two_threes
    -2.238,  // four_threes
    -2.168,  // threes_tempo
    0.134,   // threes_struck
    0.745,   // threes_balance
    2.404,   // threes_least
};

}  // namespace bentline
