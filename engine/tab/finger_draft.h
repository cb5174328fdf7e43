// The fingering of a draft's notes: what an export, the window and the sheet write as tablature.
// [any]
#pragma once

#include <vector>

#include "engine/draft/draft.h"
#include "engine/result.h"
#include "engine/tab/fingering.h"
#include "engine/work.h"

namespace bentline {

struct DraftFingering {
    Neck neck;
    std::vector<NoteId> ids;  // of the notes, in order of onset
    Fingering fingering;      // one answer for each of them

    // The answer for a note, or nullptr where it is not among them.
    const FingeredNote* of(NoteId id) const;
    // How many notes have no string and fret.
    int left_out() const;
};

// The request that a draft makes: its guitar, the notes that `which` names, their pins, and the
// sweeps and unison bends that are found in them. A pinned note is in no sweep. A pin's fret
// follows from its string and the note's pitch, and is not looked at.
FingeringRequest fingering_request(const Draft& draft, WhichNotes which);

// The fingering of least effort. Where sweeps leave a note without a spot that has one without
// them, they are played as plain notes. A note that is pinned to a string that the guitar does not
// have is left out and says so. Fails with stopped.
Result<DraftFingering> finger_draft(const Draft& draft, WhichNotes which,
                                    const FingeringSettings& settings = {}, const Work& work = {});

}  // namespace bentline
