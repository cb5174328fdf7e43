// Pencilled notes in their machine-readable form.
#pragma once

#include <string>
#include <vector>

#include "engine/notes/note.h"

namespace bentline::command {

// The JSON text of notes sorted by onset: `tuning_cents` and `notes`, times in seconds of the
// recording. What was not measured is left out.
std::string notes_json(Cents tuning, const std::vector<Note>& notes);

}  // namespace bentline::command
