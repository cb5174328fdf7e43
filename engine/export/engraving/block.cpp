// Adds ink and looks for free places.
#include "engine/export/engraving/block.h"

#include <algorithm>

namespace bentline::engraving {

namespace {

bool is_line(Part part) {
    return part == Part::staff_line || part == Part::tab_line || part == Part::bar_line ||
           part == Part::system_line;
}

}  // namespace

Box box_of(const CurveShape& c) {
    const double half = (c.thickness + c.swelling) / 2.0;
    Box box{c.a.x, c.a.y, c.a.x, c.a.y};
    constexpr int steps = 16;
    for (int i = 0; i <= steps; ++i) {
        const double t = static_cast<double>(i) / steps;
        const double u = 1.0 - t;
        const double wa = u * u * u, wb = 3 * u * u * t, wc = 3 * u * t * t, wd = t * t * t;
        const double x = wa * c.a.x + wb * c.b.x + wc * c.c.x + wd * c.d.x;
        const double y = wa * c.a.y + wb * c.b.y + wc * c.c.y + wd * c.d.y;
        box = united(box, {x, y, x, y});
    }
    return {box.left, box.top - half, box.right, box.bottom + half};
}

Box Block::add(Part part, Owner owner, const Box& box, Shape shape) {
    marks_.push_back({part, owner.measure, owner.note, box, std::move(shape)});
    return box;
}

Box Block::glyph(Part part, Owner owner, Glyph glyph, Point at, double scale) {
    const GlyphShape shape{glyph, at, scale};
    return add(part, owner, glyph_box(*fonts_, shape), shape);
}

Box Block::glyph_left(Part part, Owner owner, Glyph sign, Point at, double scale) {
    const Box& box = (*fonts_)[sign].box;
    return glyph(part, owner, sign, {at.x - box.left * scale, at.y}, scale);
}

Box Block::glyph_middle(Part part, Owner owner, Glyph sign, Point at, double scale) {
    const Box& box = (*fonts_)[sign].box;
    return glyph(part, owner, sign, {at.x - (box.left + box.right) / 2.0 * scale, at.y}, scale);
}

Box Block::line(Part part, Owner owner, Point from, Point to, double thickness) {
    const double half = thickness / 2.0;
    const bool upright = from.x == to.x;
    const bool level = from.y == to.y;
    Box box{std::min(from.x, to.x), std::min(from.y, to.y), std::max(from.x, to.x),
            std::max(from.y, to.y)};
    if (!level) box = {box.left - half, box.top, box.right + half, box.bottom};
    if (!upright) box = {box.left, box.top - half, box.right, box.bottom + half};
    return add(part, owner, box, LineShape{from, to, thickness});
}

Box Block::curve(Part part, Owner owner, const CurveShape& curve) {
    return add(part, owner, box_of(curve), curve);
}

Box Block::fill(Part part, Owner owner, std::vector<Point> corners) {
    Box box{corners.front().x, corners.front().y, corners.front().x, corners.front().y};
    for (const Point& p : corners)
        box = united(box, {p.x, p.y, p.x, p.y});
    return add(part, owner, box, FilledShape{std::move(corners)});
}

Box Block::text(Part part, Owner owner, TextShape text) {
    const Box box = text_box(*fonts_, text);
    return add(part, owner, box, std::move(text));
}

Box Block::text_middle(Part part, Owner owner, TextShape words) {
    words.at.x -= text_width(*fonts_, words) / 2.0;
    return text(part, owner, std::move(words));
}

double Block::free_above(double left, double right, double start, double clear) const {
    double y = start;
    for (const Mark& mark : marks_) {
        if (is_line(mark.part) || mark.box.right <= left - clear || mark.box.left >= right + clear)
            continue;
        y = std::min(y, mark.box.top - clear);
    }
    return y;
}

double Block::free_below(double left, double right, double start, double clear) const {
    double y = start;
    for (const Mark& mark : marks_) {
        if (is_line(mark.part) || mark.box.right <= left - clear || mark.box.left >= right + clear)
            continue;
        y = std::max(y, mark.box.bottom + clear);
    }
    return y;
}

bool Block::is_free(const Box& box) const {
    return std::none_of(marks_.begin(), marks_.end(), [&](const Mark& mark) {
        return !is_line(mark.part) && mark.box.overlaps(box);
    });
}

}  // namespace bentline::engraving
