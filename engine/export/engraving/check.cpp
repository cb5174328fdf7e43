// Compares boxes.
#include "engine/export/engraving/check.h"

#include <algorithm>
#include <cstdio>
#include <set>

namespace bentline::engraving {

namespace {

// Boxes overlap only beyond this: ink that just meets is no collision.
constexpr double tolerance = 0.03;
constexpr int links = 12;

// The room that a shape really fills, as one box or a chain of them along a slanted shape.
std::vector<Box> rooms_of(const Mark& mark) {
    std::vector<Box> rooms;
    if (const auto* line = std::get_if<LineShape>(&mark.shape)) {
        const double half = line->thickness / 2.0;
        if (line->from.x != line->to.x && line->from.y != line->to.y) {
            for (int i = 0; i < links; ++i) {
                const auto at = [&](int k) {
                    const double t = static_cast<double>(k) / links;
                    return Point{line->from.x + t * (line->to.x - line->from.x),
                                 line->from.y + t * (line->to.y - line->from.y)};
                };
                const Point a = at(i), b = at(i + 1);
                rooms.push_back({std::min(a.x, b.x), std::min(a.y, b.y) - half, std::max(a.x, b.x),
                                 std::max(a.y, b.y) + half});
            }
            return rooms;
        }
    }
    if (const auto* curve = std::get_if<CurveShape>(&mark.shape)) {
        const double half = (curve->thickness + curve->swelling) / 2.0;
        const auto at = [&](int k) {
            const double t = static_cast<double>(k) / links, u = 1.0 - t;
            const double wa = u * u * u, wb = 3 * u * u * t, wc = 3 * u * t * t, wd = t * t * t;
            return Point{wa * curve->a.x + wb * curve->b.x + wc * curve->c.x + wd * curve->d.x,
                         wa * curve->a.y + wb * curve->b.y + wc * curve->c.y + wd * curve->d.y};
        };
        for (int i = 0; i < links; ++i) {
            const Point a = at(i), b = at(i + 1);
            rooms.push_back({std::min(a.x, b.x), std::min(a.y, b.y) - half, std::max(a.x, b.x),
                             std::max(a.y, b.y) + half});
        }
        return rooms;
    }
    if (mark.part == Part::beam) {
        const auto& corners = std::get<FilledShape>(mark.shape).corners;
        const Point &a = corners[0], &b = corners[1];
        const double depth = corners[3].y - corners[0].y;
        for (int i = 0; i < links; ++i) {
            const double t = static_cast<double>(i) / links, u = static_cast<double>(i + 1) / links;
            const double y1 = a.y + t * (b.y - a.y), y2 = a.y + u * (b.y - a.y);
            rooms.push_back({a.x + t * (b.x - a.x), std::min(y1, y2) + std::min(depth, 0.0),
                             a.x + u * (b.x - a.x), std::max(y1, y2) + std::max(depth, 0.0)});
        }
        return rooms;
    }
    return {mark.box};
}

struct Piece {
    const Mark* mark;
    std::vector<Box> rooms;
};

std::optional<Box> shared_room(const Piece& a, const Piece& b) {
    for (const Box& x : a.rooms) {
        for (const Box& y : b.rooms) {
            const Box shared{std::max(x.left, y.left), std::max(x.top, y.top),
                             std::min(x.right, y.right), std::min(x.bottom, y.bottom)};
            if (shared.width() > tolerance && shared.height() > tolerance) return shared;
        }
    }
    return std::nullopt;
}

// One drawing of several strokes: an arrow's shaft, tip and figure, a letter and its frame, a
// metre's figures, the chain of a wavy line.
bool same_sign(const Mark& a, const Mark& b) {
    const auto are = [&](Part x, Part y) {
        return (a.part == x && b.part == y) || (a.part == y && b.part == x);
    };
    // A long flag hangs down to its own note's head.
    if (are(Part::head, Part::flag)) return a.note == b.note;
    // A grace note's flag and the stroke through it.
    if (are(Part::grace, Part::flag)) return a.note == b.note;
    if (a.part != b.part) return false;
    switch (a.part) {
        case Part::bend:
        case Part::wave:
            return a.note == b.note;
        case Part::section:
        case Part::metre:
        case Part::bar_line:
        case Part::dynamic:
        case Part::tuplet:
            return a.measure == b.measure;
        case Part::hairpin: {  // the two lines of a wedge meet at its tip
            const auto& x = std::get<LineShape>(a.shape);
            const auto& y = std::get<LineShape>(b.shape);
            return x.from.x == y.from.x && x.to.x == y.to.x;
        }
        case Part::title:
        case Part::clef:
            return true;
        default:
            return false;
    }
}

}  // namespace

bool may_touch(Part a, Part b) {
    if (b < a) std::swap(a, b);
    const auto is = [&](Part x, Part y) { return (a == x && b == y) || (a == y && b == x); };
    const auto either = [&](std::initializer_list<Part> parts, std::initializer_list<Part> with) {
        const auto in = [](std::initializer_list<Part> set, Part part) {
            return std::find(set.begin(), set.end(), part) != set.end();
        };
        return (in(parts, a) && in(with, b)) || (in(parts, b) && in(with, a));
    };
    // Staff lines run under all that stands on the staff; nothing written in words does.
    if (either({Part::staff_line}, {Part::staff_line, Part::system_line, Part::bar_line, Part::clef,
                                    Part::key, Part::metre, Part::head, Part::grace, Part::stem,
                                    Part::beam, Part::flag, Part::accidental, Part::dot, Part::rest,
                                    Part::tie, Part::slide, Part::articulation, Part::tuplet}))
        return true;
    // Tablature lines are broken at figures, so only lines cross them.
    if (either({Part::tab_line},
               {Part::tab_line, Part::system_line, Part::bar_line, Part::bend, Part::tab_slide}))
        return true;
    if (either({Part::system_line}, {Part::bar_line, Part::section})) return true;
    // Stems join heads and beams; ledger lines run under heads, their accidentals and into one
    // another; beams of one group stand on each other's stems.
    if (either({Part::stem}, {Part::head, Part::grace, Part::beam, Part::flag, Part::tie,
                              Part::ledger, Part::stem}))
        return !is(Part::stem, Part::stem);
    if (is(Part::beam, Part::beam)) return false;
    if (either({Part::ledger}, {Part::head, Part::grace, Part::ledger, Part::tie, Part::slide,
                                Part::accidental, Part::flag, Part::beam, Part::articulation}))
        return true;
    // Ties and slides cross bar lines and one another's ends.
    if (either({Part::tie, Part::slide}, {Part::bar_line, Part::tie, Part::slide})) return true;
    if (is(Part::tab_slide, Part::bar_line)) return true;
    return false;
}

std::vector<Collision> find_collisions(const Sheet& sheet) {
    std::vector<Collision> found;
    for (std::size_t p = 0; p < sheet.pages.size(); ++p) {
        std::vector<Piece> pieces;
        const auto take = [&](const std::vector<Mark>& marks) {
            for (const Mark& mark : marks)
                pieces.push_back({&mark, rooms_of(mark)});
        };
        take(sheet.pages[p].marks);
        for (const System& system : sheet.pages[p].systems)
            take(system.marks);
        const Box inside{sheet.margin, sheet.margin, sheet.width - sheet.margin,
                         sheet.height - sheet.margin};
        for (const Piece& piece : pieces) {
            const Box& box = piece.mark->box;
            if (box.left < inside.left - tolerance || box.right > inside.right + tolerance ||
                box.top < inside.top - tolerance || box.bottom > inside.bottom + tolerance)
                found.push_back({p, piece.mark->measure, piece.mark->part, piece.mark->part, box});
        }
        std::sort(pieces.begin(), pieces.end(), [](const Piece& a, const Piece& b) {
            return a.mark->box.left < b.mark->box.left;
        });
        for (std::size_t i = 0; i < pieces.size(); ++i) {
            const Mark& a = *pieces[i].mark;
            for (std::size_t k = i + 1; k < pieces.size(); ++k) {
                const Mark& b = *pieces[k].mark;
                if (b.box.left >= a.box.right) break;
                if (!a.box.overlaps(b.box) || may_touch(a.part, b.part) || same_sign(a, b))
                    continue;
                if (const auto room = shared_room(pieces[i], pieces[k]))
                    found.push_back({p, a.measure, a.part, b.part, *room});
            }
        }
    }
    return found;
}

std::string to_text(const Collision& c) {
    char place[128];
    std::snprintf(place, sizeof place,
                  "page %zu, measure %zu, at %.1f, %.1f (%.2f by %.2f): ", c.page + 1,  // NOLINT
                  c.measure + 1, c.box.left, c.box.top, c.box.width(), c.box.height());
    return c.a == c.b && c.a != Part::stem
               ? std::string(place) + to_text(c.a) + " over the margin or another"
               : std::string(place) + to_text(c.a) + " over " + to_text(c.b);
}

}  // namespace bentline::engraving
