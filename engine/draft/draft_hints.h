// What a draft already knows, as hints for pencilling it again.
#pragma once

#include "engine/draft/draft.h"
#include "engine/notes/hints.h"

namespace bentline {

// The inked notes that sound in `span`, what the player said about it (here, not_these; not what an
// inked note contradicts), the beats of the bar map around it, and, where the draft
// has notes, the recording's tuning. What pencil_notes() returns with them goes well into
// Repencil{span, notes}: the inked notes are left as they are. [any]
Hints hints_of(const Draft& draft, SecondsRange span);

// The draft with a note ruled out: "not this". What is known already is not said twice. [any]
Draft with_ruled_out(Draft draft, const Note& note);
// The draft without what rules such a note out: he takes it now. [any]
Draft with_allowed(Draft draft, SecondsRange span, MidiKey key);
// The draft with a mark "there is a note here", or, where one lies within here_tolerance, without
// that one. [any]
Draft with_mark_turned(Draft draft, const NoteHere& mark);

}  // namespace bentline
