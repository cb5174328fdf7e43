// Slides that seem to lead away to nowhere, but arrive at the next note.
#pragma once

#include <vector>

#include "engine/notes/note.h"

namespace bentline::notes {

// Sorted notes. A slide out that ends on the key of the next note, within 60 ms of its beginning,
// leads to that note: over two frets or more it becomes a slide to it, as sure as it was. Over one
// it is taken out: there the line has gone over to the next note a moment before its pluck. [any]
void read_arrivals(std::vector<Note>& notes);

}  // namespace bentline::notes
