// Lines to pages: where lines break, how they fill the page, the title block and the foot.
//
// Lines hold up to Settings::bars_a_line bars, and break where the form does: a section opens a
// line (but one of a single bar may share it), and inside it every fourth bar does, else
// every second (common practice of chord charts). [any]
#pragma once

#include <vector>

#include "engine/export/engraving/line.h"

namespace bentline::engraving {

// All lines, left edge 0, each `width` wide; the score's last one, and one that a section ends
// before it is full, are no more stretched than the others.
// Empty where some bar does not fit a line of that width.
std::vector<LinePlace> break_lines(const Task& task, double width);

// The title block with its top at y 0, `width` wide.
std::vector<Mark> title_block(const Task& task, const Heading& heading, double width);

// What stands at the foot of a page, baseline at y 0; the page's number counts from 1.
std::vector<Mark> page_foot(const Task& task, const Heading& heading, std::size_t page,
                            std::size_t pages, double width);

}  // namespace bentline::engraving
