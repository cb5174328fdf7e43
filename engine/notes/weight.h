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

// How loud a note is struck: the loudest of the followed pitch's partials within 80 ms of its
// onset, dB re full scale; -120 where no pitch is followed there. In a band that is the soloist's
// own, as the level of the whole sound is not.
double struck_level(const Attacks& attacks, double onset, double offset);

// Adds staccato and accents to sorted notes whose onsets, offsets and levels are set. struck: the
// struck level of each, as many as notes. perhaps: sorted onsets of what may be notes though it is
// not among them; no silence goes on beyond one of these.
void read_weight(std::vector<Note>& notes, const std::vector<double>& struck,
                 const std::vector<Seconds>& perhaps, const NoteSettings& settings);

}  // namespace bentline::notes
