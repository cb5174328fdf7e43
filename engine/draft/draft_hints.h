// What a draft already knows, as hints for pencilling it again.
#pragma once

#include "engine/draft/draft.h"
#include "engine/notes/hints.h"

namespace bentline {

// The inked notes that sound in `span`, the beats of the bar map around it, and, where the draft
// has notes, the recording's tuning. What pencil_notes() returns with them goes well into
// Repencil{span, notes}: the inked notes are left as they are. [any]
Hints hints_of(const Draft& draft, SecondsRange span);

}  // namespace bentline
