// The printed page as a plain value: marks of ink with their boxes and whom they belong to.
//
// Lengths are staff spaces (the distance of two staff lines), x to the right, y downwards. A mark
// knows what it is, the bar that it stands in, the draft note that it is about, and the box that
// its ink fills, so that a window can find what lies under the pointer and a checker what overlaps.
// [any]
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "engine/draft/note_list.h"

namespace bentline::engraving {

struct Point {
    double x = 0.0;
    double y = 0.0;
    friend bool operator==(const Point&, const Point&) = default;
};

struct Box {
    double left = 0.0;
    double top = 0.0;
    double right = 0.0;
    double bottom = 0.0;
    double width() const { return right - left; }
    double height() const { return bottom - top; }
    Box moved(double x, double y) const { return {left + x, top + y, right + x, bottom + y}; }
    // Share an area, not just an edge.
    bool overlaps(const Box& other) const {
        return left < other.right && other.left < right && top < other.bottom && other.top < bottom;
    }
    friend bool operator==(const Box&, const Box&) = default;
};
Box united(const Box& a, const Box& b);

// Signs of the music font.
enum class Glyph {
    head_whole,
    head_half,
    head_black,
    rest_whole,
    rest_half,
    rest_quarter,
    rest_8,
    rest_16,
    rest_32,
    rest_64,
    rest_128,
    sharp,
    flat,
    natural,
    double_sharp,
    double_flat,
    clef_g,
    flag_up_8,
    flag_up_16,
    flag_up_32,
    flag_up_64,
    flag_up_128,
    flag_down_8,
    flag_down_16,
    flag_down_32,
    flag_down_64,
    flag_down_128,
    dot,
    staccato,
    accent,
    trill,
    wave,
    dynamic_f,
    dynamic_m,
    dynamic_p,
    digit_0,
    digit_1,
    digit_2,
    digit_3,
    digit_4,
    digit_5,
    digit_6,
    digit_7,
    digit_8,
    digit_9,
};
inline constexpr std::size_t glyph_count = static_cast<std::size_t>(Glyph::digit_9) + 1;

// Type faces for words. figures: the upright one without serifs, for frets.
enum class Face { text, bold, italic, figures };
inline constexpr std::size_t face_count = 4;

struct GlyphShape {
    Glyph glyph = Glyph::head_black;
    Point at;  // the glyph's own origin
    double scale = 1.0;
};
struct LineShape {
    Point from;
    Point to;
    double thickness = 0.1;
};
// A Bézier curve. swelling: thin ends and this much thicker in the middle, as ties are.
struct CurveShape {
    Point a, b, c, d;
    double thickness = 0.1;
    double swelling = 0.0;
};
struct FilledShape {
    std::vector<Point> corners;
};
struct TextShape {
    std::string text;  // UTF-8
    Face face = Face::text;
    double size = 2.0;  // of the em
    Point at;           // left end of the baseline
};
using Shape = std::variant<GlyphShape, LineShape, CurveShape, FilledShape, TextShape>;

enum class Part {
    staff_line,
    tab_line,
    system_line,
    bar_line,
    clef,
    key,
    metre,
    head,
    grace,
    stem,
    beam,
    flag,
    ledger,
    accidental,
    dot,
    rest,
    tie,
    slide,
    articulation,
    tuplet,
    wave,
    trill,
    dynamic,
    hairpin,
    figure,
    chord,
    section,
    bar_number,
    fret,
    bend,
    tab_slide,
    title,
    foot,
};
inline constexpr std::size_t part_count = static_cast<std::size_t>(Part::foot) + 1;
const char* to_text(Part part);

struct Mark {
    Part part = Part::head;
    std::size_t measure = 0;     // index into the score's measures
    std::optional<NoteId> note;  // the draft note that it is about
    Box box;                     // of the ink
    Shape shape;
};
Mark moved(Mark mark, double x, double y);

// Where a bar lies across a system.
struct BarSpan {
    std::size_t measure = 0;
    double left = 0.0;
    double right = 0.0;
};

// One line of music. Its marks are placed on the page already.
struct System {
    std::vector<BarSpan> bars;
    double staff_top = 0.0;  // the staff's uppermost line
    double tab_top = 0.0;    // the tablature's; the staff's where there is none
    Box box;                 // of all its ink
    std::vector<Mark> marks;
};

struct Page {
    std::vector<Mark> marks;  // title, foot
    std::vector<System> systems;
};

struct Sheet {
    double space_mm = 1.65;  // how large a staff space is printed
    double width = 0.0;      // of the page
    double height = 0.0;
    double margin = 0.0;  // all ink stays this far from the edges
    std::vector<Page> pages;
};

}  // namespace bentline::engraving
