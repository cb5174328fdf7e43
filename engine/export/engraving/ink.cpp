// Boxes and marks.
#include "engine/export/engraving/ink.h"

#include <algorithm>
#include <array>

namespace bentline::engraving {

namespace {

Point moved(Point p, double x, double y) {
    return {p.x + x, p.y + y};
}

struct Move {
    double x, y;
    void operator()(GlyphShape& s) const { s.at = moved(s.at, x, y); }
    void operator()(LineShape& s) const {
        s.from = moved(s.from, x, y);
        s.to = moved(s.to, x, y);
    }
    void operator()(CurveShape& s) const {
        for (Point* p : {&s.a, &s.b, &s.c, &s.d})
            *p = moved(*p, x, y);
    }
    void operator()(FilledShape& s) const {
        for (Point& p : s.corners)
            p = moved(p, x, y);
    }
    void operator()(TextShape& s) const { s.at = moved(s.at, x, y); }
};

}  // namespace

Box united(const Box& a, const Box& b) {
    return {std::min(a.left, b.left), std::min(a.top, b.top), std::max(a.right, b.right),
            std::max(a.bottom, b.bottom)};
}

Mark moved(Mark mark, double x, double y) {
    mark.box = mark.box.moved(x, y);
    std::visit(Move{x, y}, mark.shape);
    return mark;
}

const char* to_text(Part part) {
    static constexpr std::array<const char*, part_count> names{
        "staff line",   "tab line",   "system line", "bar line",   "clef",    "key",
        "metre",        "head",       "grace",       "stem",       "beam",    "flag",
        "ledger",       "accidental", "dot",         "rest",       "tie",     "slide",
        "articulation", "tuplet",     "wave",        "trill",      "dynamic", "hairpin",
        "figure",       "chord",      "section",     "bar number", "fret",    "bend",
        "tab slide",    "title",      "foot"};
    return names[static_cast<std::size_t>(part)];
}

}  // namespace bentline::engraving
