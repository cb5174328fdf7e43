// Tracker and note finder, one after the other.
#include "engine/notes/pencil.h"

#include <utility>

#include "engine/notes/find_notes.h"
#include "engine/pitch/tracker.h"

namespace bentline {

Result<Pencilled> pencil_notes(const Audio& audio, const Focus& focus, const Work& work) {
    auto curve = track_pitch(audio, focus, {}, work.part(0.0, 0.7));
    if (!curve) return curve.failure();
    auto notes = find_notes(audio, *curve, focus, {}, work.part(0.7, 1.0));
    if (!notes) return notes.failure();
    return Pencilled{std::move(curve).value(), std::move(notes).value()};
}

}  // namespace bentline
