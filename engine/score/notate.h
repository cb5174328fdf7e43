// From written places to measures: ties, rests, tuplets and beams as engravers set them.
//
// Common practice (as in Gould, Behind Bars, 2011, from memory): the middle of a 4/4 bar stays
// visible except under notes that begin on a beat and end on one; syncopated quarters and dotted
// quarters stand inside a half bar; anything finer than an eighth shows every beat; rests never
// hide a beat that notes would show; four plain eighths of a half bar share a beam, all else is
// beamed by the beat. [any]
#pragma once

#include <vector>

#include "engine/score/quantise.h"
#include "engine/score/score.h"

namespace bentline {

// A head, before it has a name: which of the line's notes it belongs to, by index.
struct NotatedMeasure {
    Measure measure;  // events with heads that have no pitch yet
    std::vector<std::optional<std::size_t>>
        note;  // [event] index of the line's note; empty at rests
};

// Measures of the line's pulses, bar by bar. `metres[i]` is the metre of the i-th bar. A first bar
// before bar 1 is written from the beat of its first note (or from its last `pickup` ticks, if that
// is more). Lengths of events add up to each measure's exactly.
std::vector<NotatedMeasure> notate(const QuantisedLine& line, const std::vector<Metre>& metres,
                                   Ticks pickup = Ticks(0));

}  // namespace bentline
