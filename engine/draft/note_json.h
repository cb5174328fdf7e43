// Notes as JSON: the fields that every machine-readable result uses, in the draft file and outside
// it.
//
// onset_s, offset_s, midi, cents, level_db, confidence, reason, inflections; what was not measured
// is left out. A released bend with a measured release also has release_start_s and release_end_s.
#pragma once

#include <string>

#include "engine/draft/json_fields.h"
#include "engine/notes/note.h"

namespace bentline {

Json to_json(const Note& note);

// Takes the fields of a note. Throws Misfit. Inflections of a kind that this version does not know
// are put into `unknown` as they are.
Note read_note(Fields& fields, Json& unknown);

}  // namespace bentline
