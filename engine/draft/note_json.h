// Notes as JSON: the fields that every machine-readable result uses, in the draft file and outside
// it.
//
// onset_s, offset_s, midi, cents, level_db, confidence, reason, inflections; what was not measured
// is left out. A released bend with a measured release also has release_start_s and release_end_s.
// Beyond the machine-readable results: standard errors (cents_error, rate_error_hz,
// depth_error_cents, start_error_s, end_error_s) and, of doubtful notes, alternatives: each with
// probability, reason and, unless it is no note at all, midi and inflections.
#pragma once

#include <string>

#include "engine/draft/json_fields.h"
#include "engine/notes/hints.h"
#include "engine/notes/note.h"

namespace bentline {

Json to_json(const Note& note);

// Takes the fields of a note. Throws Misfit. Inflections of a kind that this version does not know
// are put into `unknown` as they are.
Note read_note(Fields& fields, Json& unknown);

// What the player said: here [{at_s, midi}], not_these [{from_s, to_s, midi}]. The readers take the
// field; none of it where it is not there. They throw Misfit.
Json to_json(const std::vector<NoteHere>& here);
Json to_json(const std::vector<NotThis>& not_these);
std::vector<NoteHere> read_here(Fields& fields);
std::vector<NotThis> read_not_these(Fields& fields);

}  // namespace bentline
