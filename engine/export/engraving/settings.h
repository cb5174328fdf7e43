// What the printed sheet is set like. [any]
#pragma once

namespace bentline::engraving {

// ISO 216: A4 is 210 mm by 297 mm; ANSI Y14.1: Letter is 8.5 in by 11 in.
enum class Paper { a4, letter };
struct PaperSize {
    double width_mm, height_mm;
};
PaperSize size_of(Paper paper);

struct Settings {
    Paper paper = Paper::a4;
    int bars_a_line = 4;  // at most, 1 to 8; dense lines take fewer
    bool tab = true;
    bool measured = false;   // the measured cents and rates in small type
    double space_mm = 1.65;  // of a staff space, 1 to 3; smaller where a bar does not fit a line
    double margin_mm = 14.0;
    // Spacing: a gap grows by this factor for each doubling of its time. About the square root of
    // two (common practice; so the space of a note lies between fixed and proportional).
    double growth = 1.4;
    double eighth = 2.95;  // the natural gap of an eighth, in spaces
    // A line may be squeezed to this share of the natural gaps, and not stretched beyond that one.
    double least_share = 0.70;
    double most_share = 1.45;
};

}  // namespace bentline::engraving
