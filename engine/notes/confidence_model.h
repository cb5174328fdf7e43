// How likely a note and its inflections are right: small fitted models.
#pragma once

#include <array>
#include <cstddef>
#include <vector>

#include "engine/notes/note.h"
#include "engine/notes/weighing.h"

namespace bentline::notes {

// Natural log-odds that the soloist played a note with this evidence (at its onset within 50 ms,
// its pitch within 50 cents). Fitted by logistic loss to what the tracker and this stage made of
// generated takes, alone, in a room and in bands; tests/notes/fit_models.cpp fits it anew. [any]
double note_log_odds(const TellingVector& telling);

// What tells whether an inflection is right, ahead of all that tells of its note.
enum InflectionTelling : std::size_t {
    as_read,       // log-odds with which it was read from the line alone
    of_note,       // log-odds of its note
    silence,       // until the next note: log2(seconds / 0.1 s) / 3, -1.1 to 1.1
    how_far,       // its size, whole tones, 0 to 4; 0 of staccato and accent
    beside,        // other inflections read of the same note / 2
    next_struck,   // pluck_odds of the next note
    next_slid_to,  // was_slid_to of the next note
    telling_of_note,
    inflection_telling_count = telling_of_note + telling_count
};
using InflectionVector = std::array<double, inflection_telling_count>;

// Sorted notes with confidences, and what was told of each; `which` is one of the inflections of
// notes[i]. [any]
InflectionVector telling_of_inflection(const std::vector<Note>& notes,
                                       const std::vector<TellingVector>& telling, std::size_t i,
                                       const Inflection& which);

// Natural log-odds that an inflection is right; kind: its place in InflectionKind. Fitted like the
// notes'. [any]
double inflection_log_odds(std::size_t kind, const InflectionVector& told);

}  // namespace bentline::notes
