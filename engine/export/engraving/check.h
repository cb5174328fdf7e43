// Looks over engraved pages for what an engraver would send back: ink over ink, ink off the page.
//
// Two marks may share room where engraving lets them (heads stand on staff lines, stems join heads,
// ties cross stems …): may_touch() is the whole list. Boxes are compared with those that shapes
// fill at every place for slanted lines, beams and curves: these count by a chain of smaller boxes.
// [any]
#pragma once

#include <string>
#include <vector>

#include "engine/export/engraving/ink.h"

namespace bentline::engraving {

struct Collision {
    std::size_t page = 0;
    std::size_t measure = 0;
    Part a = Part::head;
    Part b = Part::head;
    Box box;  // of the shared room
};

// True where marks of these parts may overlap.
bool may_touch(Part a, Part b);

// Every pair of marks that share room though they may not, and every mark over a page's margin
// (a and b are then the same).
std::vector<Collision> find_collisions(const Sheet& sheet);

std::string to_text(const Collision& collision);

}  // namespace bentline::engraving
