// From sound to pencilled notes in one step: the path that both front ends take.
#pragma once

#include <functional>
#include <vector>

#include "engine/notes/hints.h"
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

// The same with what the player knows already. Inked notes come back unchanged; pencilling the same
// span again with more of its notes inked hears the rest better.
Result<Pencilled> pencil_notes(const Audio& audio, const Focus& focus, const Hints& hints,
                               const Work& work = {});

// The looped bars first, then everything: `ready` gets the line and the notes of `first` (notes
// that begin in it; the line reaches first_look_margin further) on the worker's thread as soon as
// they stand; what is returned is, bit for bit, what pencil_notes() returns for the whole. The part
// knows only its surroundings, so a doubtful note of it may still change. It is looked at twice:
// that costs its own length and twice the margin once more. first empty or outside: nothing comes
// first.
inline constexpr Seconds first_look_margin{3.0};
// For a window: start this as one job with first = the loop; in `ready`, post a delivery that draws
// the line and applies Repencil{first, notes}; at the end apply Repencil over the whole span. Stops
// within 0.1 s of being asked, reports progress as all long work does. [worker]
Result<Pencilled> pencil_in_order(const Audio& audio, const Focus& focus, const Hints& hints,
                                  SecondsRange first, const std::function<void(Pencilled)>& ready,
                                  const Work& work = {});

}  // namespace bentline
