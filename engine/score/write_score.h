// From a draft to a written score: quantising, spelling, signs, dynamics, all in one.
//
// Needs a bar map; a draft without one works on in seconds and has no score yet. The draft is not
// changed; every head and played grace note names its draft note. Takes under 50 ms for a 200-note
// chorus. [any]
#pragma once

#include "engine/draft/draft.h"
#include "engine/result.h"
#include "engine/score/quantise.h"
#include "engine/score/score.h"
#include "engine/score/signs.h"
#include "engine/score/spell.h"

namespace bentline {

struct ScoreSettings {
    QuantiseSettings quantise;
    SpellingSettings spelling;
    SignRules signs;
};

// The bars written run from the first note (or bar 1) to the last note, or to the end of the form
// or of the chords, whichever is last. Chords that are no known symbols stand in the score as they
// were typed; several in a bar share its beats. Fails with bad_draft where there is no bar map.
Result<Score> write_score(const Draft& draft, WhichNotes which, const ScoreSettings& settings = {});

// The chord symbols of one bar and where they begin, ticks from the bar's first beat: one fills the
// bar, two share it in halves (three beats: 2 + 1), more take a beat each from the end backwards.
std::vector<ChordSymbol> place_chords(const std::string& typed, const Metre& metre);

}  // namespace bentline
