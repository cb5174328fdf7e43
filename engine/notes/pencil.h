// From sound to pencilled notes in one step: the path that both front ends take.
#pragma once

#include <vector>

#include "engine/notes/note.h"
#include "engine/pitch/curve.h"
#include "engine/recording/audio.h"
#include "engine/recording/focus.h"
#include "engine/result.h"
#include "engine/work.h"

namespace bentline {

struct Pencilled {
    PitchCurve curve;
    std::vector<Note> notes;  // sorted by onset, not overlapping, recording time
};

// Follows the pitch inside the focus and finds the notes on it, with default settings. Progress
// covers both. Fails as track_pitch and find_notes do. Same input, same result. [worker]
Result<Pencilled> pencil_notes(const Audio& audio, const Focus& focus, const Work& work = {});

}  // namespace bentline
