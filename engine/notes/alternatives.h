// Other readings of doubtful notes, with their probabilities: what the player picks from instead of
// typing.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "engine/notes/note.h"
#include "engine/notes/weighing.h"
#include "engine/pitch/curve.h"
#include "engine/recording/focus.h"

namespace bentline::notes {

// What speaks for another reading being the true one, given that the pencilled one is wrong.
enum Trait : std::size_t {
    is_none,      // 1: no note of the soloist at all
    is_octave,    // 1: an octave above or below
    is_semitone,  // 1: a semitone off
    is_other,     // 1: any other pitch
    rival_share,  // the tracker's posterior of this pitch along the note: log10(p + 1e-4) / 4 + 1
    leans_that_way,  // a semitone off, on the side to which the note is out of tune: cents / 50
    in_line,         // nearness to the neighbours' middle pitch: 1 - octaves away
    none_by_odds,    // no note: minus the note's own log-odds / 4
    none_unstruck,   // no note: 1 where it was not struck
    none_short,      // no note: how short it is (very_short)
    trait_count
};
using TraitVector = std::array<double, trait_count>;

struct Candidate {
    std::optional<MidiKey> key;
    TraitVector traits{};
    std::string reason;
};

// The readings that are weighed for notes[i]: its octaves and semitones inside the focus, the
// tracker's rivals, no note.
std::vector<Candidate> candidates_of(const std::vector<Note>& notes, std::size_t i,
                                     const TellingVector& telling, const PitchCurve& curve,
                                     const Focus& focus);
// Their probabilities, given that the note is wrong; what is missing to 1 is something else. Fitted
// by tests/notes/fit_models.cpp.
std::vector<double> weigh_candidates(const std::vector<Candidate>& candidates);

// A note is doubtful below this confidence; an alternative is offered from this probability on.
inline constexpr double doubtful_below = 0.9;
inline constexpr double least_alternative = 0.02;
inline constexpr std::size_t most_alternatives = 3;

// Sets the alternatives of every doubtful note: other pitches and none by the model; the same note
// with an inflection left out or put in by the inflections' own confidences. dropped[i]:
// inflections of notes[i] that were read but not thought likely enough.
void add_alternatives(std::vector<Note>& notes, const std::vector<TellingVector>& telling,
                      const std::vector<std::vector<Inflection>>& dropped, const PitchCurve& curve,
                      const Focus& focus);

}  // namespace bentline::notes
