// How long notes sound and how heavily they are played: damping, staccato, accent.
#pragma once

#include <vector>

#include "engine/notes/attacks.h"
#include "engine/notes/note.h"
#include "engine/notes/note_settings.h"

namespace bentline::notes {

// Where the sound of a note that may last until `latest` is damped: the first fall by
// settings.damping_drop below the note's own decay that is not made good again; `latest` where
// there is none. Seconds; onset < result <= latest.
double damped_at(const Attacks& attacks, double onset, double latest, const NoteSettings& settings);

// Adds staccato and accents to sorted notes whose onsets, offsets and levels are set.
void read_weight(std::vector<Note>& notes, const NoteSettings& settings);

}  // namespace bentline::notes
