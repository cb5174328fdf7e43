// Cutting, moving and joining single notes together with their inflections. Used by the edits.
#pragma once

#include <cstddef>
#include <utility>

#include "engine/notes/note.h"

namespace bentline {

// The note and everything in it, `by` later.
Note shifted(Note note, Seconds by);

// The note with other ends. A moved onset carries a slide in along; other inflections are cut to
// the new span, and one that lies wholly outside goes.
Note fitted(Note note, SecondsRange span);

// The two parts of a note around `at`, which lies inside it. Inflections go to the part in which
// they begin; a vibrato over the cut goes to both.
std::pair<Note, Note> parted(const Note& note, Seconds at);

// One note from two, the second's inflections after the first's.
Note joined(const Note& first, const Note& second);

// The note `semitones` higher, slides keeping their intervals. What was measured against the old
// key (the distance in cents) is taken out.
Note retuned(Note note, int semitones);

// The note read as its alternative `which` has it; its own reading becomes that alternative. The
// alternative is a note and is there.
Note with_alternative(Note note, std::size_t which);

}  // namespace bentline
