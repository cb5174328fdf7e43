// When a note's inflections happen: where they were measured, and where they were not, as players
// usually make them (common practice, no source).
//
// What sounds a note needs a time for every gesture; these say it once for all that do. Times are
// recording time and lie within the note, except a measured vibrato's or release's, which stand as
// measured. [any]
#pragma once

#include <optional>

#include "engine/notes/note.h"
#include "engine/units.h"

namespace bentline {

// One note of a trill: about seven pairs a second.
inline constexpr Seconds usual_trill_half{0.07};

// From the pluck to the arrival. semitones: how far it is slid, of either sign.
SecondsRange slide_in_span(const Note& note, const SlideIn& slide, int semitones);
// From the departure to the note's end. measured: the slide's span, if it was.
SecondsRange slide_away_span(const Note& note, const std::optional<SecondsRange>& measured,
                             int semitones);

struct BendSpans {
    SecondsRange rise;                 // empty at the onset for a pre-bend
    std::optional<SecondsRange> fall;  // of a bend that is released; never before the rise is over
};
BendSpans bend_spans(const Note& note, const Bend& bend);

SecondsRange vibrato_span(const Note& note, const Vibrato& vibrato);

// A raised cosine: 0 before the span, 1 after it.
double eased(double share);
double eased(Seconds t, const SecondsRange& over);

}  // namespace bentline
