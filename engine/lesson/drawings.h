// Small drawings of a solo as inline SVG: its line, its density, its loudness. [any]
#pragma once

#include <string>

#include "engine/draft/draft.h"
#include "engine/lesson/figures.h"

namespace bentline {

// The notes of a span as strokes over time and pitch, phrases bracketed under them, with bar lines
// and numbers (or seconds).
std::string line_drawing(const Draft& draft, const LessonFigures& figures, SecondsRange span);
// How many notes begin a second, stretch by stretch.
std::string density_drawing(const LessonFigures& figures);
// Median level phrase by phrase; empty where fewer than two phrases have one.
std::string level_drawing(const LessonFigures& figures);

}  // namespace bentline
