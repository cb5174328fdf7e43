// The pitch line cut into steady and moving pieces by a semi-Markov model.
#pragma once

#include <cstddef>
#include <vector>

#include "engine/notes/attacks.h"
#include "engine/notes/fine_line.h"
#include "engine/notes/note_settings.h"
#include "engine/work.h"

namespace bentline::notes {

enum class Motion {
    steady,    // one pitch
    swinging,  // one pitch with vibrato around it
    moving,    // a straight glide
    loose,     // no pitch to speak of, or a short error of the tracker
};

// Points [from, to) of the line. Cents as in FineLine.
struct Piece {
    std::size_t from = 0;
    std::size_t to = 0;
    Motion motion = Motion::steady;
    double first = 0.0;  // cents where it begins; a steady piece's pitch
    double last = 0.0;   // cents where it ends
    int pluck = -1;      // which of Attacks::plucks begins it; -1 for none

    std::size_t length() const { return to - from; }
};

// An unbroken stretch of lead, cut into pieces that cover it.
struct Breath {
    std::vector<Piece> pieces;
};

// How much each point of the line counts: independent readings a point, less where neither the
// sound is self-similar nor the tracker sure, or where a pluck lies within the window.
std::vector<double> line_weights(const FineLine& line, const Attacks& attacks,
                                 const NoteSettings& settings);

// The least costly cut of every voiced stretch (optimal partitioning, Jackson et al. 2005): each
// piece pays its Gaussian misfit and a prior cost; a piece that begins at a pluck pays that pluck's
// log-odds instead. Holes shorter than settings.bridged_gap are bridged. Empty when stopped.
// [worker]
std::vector<Breath> cut_line(const FineLine& line, const Attacks& attacks,
                             const std::vector<double>& weights, const NoteSettings& settings,
                             const Work& work);

}  // namespace bentline::notes
