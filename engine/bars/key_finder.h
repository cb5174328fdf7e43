// Which key a solo's notes suggest.
//
// Correlation of how long each pitch class sounds with the key profiles of Krumhansl & Kessler
// 1982, as Krumhansl 1990 ("Cognitive Foundations of Musical Pitch", chapter 4) finds keys.
#pragma once

#include <array>
#include <vector>

#include "engine/bars/form.h"
#include "engine/notes/note.h"

namespace bentline {

using KeyProfile = std::array<double, 12>;  // [semitones above the tonic]
extern const KeyProfile major_profile;
extern const KeyProfile minor_profile;

struct KeyFit {
    Key key;
    double correlation = 0.0;  // -1 to 1
};

// All 24 keys, the best first; empty where there are no notes. Each is spelled with the fewest
// sharps or flats, six at most (G flat rather than F sharp).
std::vector<KeyFit> fit_keys(const std::vector<Note>& notes);
std::vector<KeyFit> fit_keys(const KeyProfile& durations_from_c);

}  // namespace bentline
