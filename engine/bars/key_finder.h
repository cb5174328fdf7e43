// Which key a solo's notes suggest, and which of its sections stand in another.
//
// Correlation of how long each pitch class sounds with the key profiles of Krumhansl & Kessler
// 1982, as Krumhansl 1990 ("Cognitive Foundations of Musical Pitch", chapter 4) finds keys.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "engine/bars/bar_map.h"
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

struct SuggestedKeys {
    Keys keys;                 // keys.tune is set; a section that modulates has its own
    double correlation = 0.0;  // of the tune's key with the sections that stand in it
};
// The tune's key, and the keys of sections that clearly stand in another. Sections under one letter
// are heard together; each may change its key at a price, so that chance does not (Temperley 1999,
// "What's key for key?", Music Perception 17(1), has such a price on changing, from segment to
// segment). A key of the same signature is no change on paper. Where chords stand over a section,
// their tones must say the same: a bridge that wanders from key to key has none of its own. Without
// bars or a form, the tune's key alone. chords: [bar - 1], as typed. Empty where there are no
// notes.
std::optional<SuggestedKeys> suggest_keys(const std::vector<Note>& notes,
                                          const std::optional<BarMap>& bars, const Form& form,
                                          const std::vector<std::string>& chords = {});

}  // namespace bentline
