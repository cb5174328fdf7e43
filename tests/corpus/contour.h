// The pitch of one stroke over time: where the string sounds while it rings, exactly.
//
// A stroke is one pluck and everything that the left hand then does with the sounding string: it
// may carry several notes (slid or slurred to). Time runs from the pluck.
#pragma once

#include <vector>

#include "engine/units.h"

namespace bentline::corpus {

// How a move gets from where the pitch is to its target.
enum class Shape {
    even,    // even in cents: the short glide over one fret
    cosine,  // starts and ends at rest: an unhurried bend
    push,    // quick at first, then settling (1 - exp(-3x), scaled): an impatient one
};

struct Move {
    SecondsRange span;
    Cents target;  // above the contour's base once the move is done
    Shape shape = Shape::even;
};

// Vibrato. Around the pitch, or (pushed only one way, as fingers on a neck do) from it upwards:
// then its centre lies `depth` above.
struct Shake {
    SecondsRange span;
    Hertz rate;
    Cents depth;
    Seconds fade_in;
    bool one_sided = false;
};

struct Contour {
    Pitch base;               // at the pluck
    std::vector<Move> moves;  // in order of time, not overlapping
    std::vector<Shake> shakes;

    Pitch at(Seconds since_pluck) const;
    // Without the vibrato.
    Pitch plain_at(Seconds since_pluck) const;
    // Where the moves added so far have led.
    Cents last_target() const { return moves.empty() ? Cents(0) : moves.back().target; }
    // Frets one after another from the last target to `target`: `per_fret` for each, of which the
    // last `glide` is spent moving. Returns when the slide has arrived. `from`: when it begins.
    Seconds add_frets(Seconds from, Cents target, Seconds per_fret, Seconds glide);
};

}  // namespace bentline::corpus
