// A block of ink as it grows: a staff or a tablature with all that stands over and under it.
//
// Its own origin: x is the page's, y 0 is the staff's middle line or the tablature's first.
// Whatever is not bound to a height is asked for a free one: free_above() and free_below() look
// along the block's outline, so that each thing stands clear of all that was placed before. [any]
#pragma once

#include <string>
#include <vector>

#include "engine/export/engraving/fonts.h"
#include "engine/export/engraving/ink.h"

namespace bentline::engraving {

struct Owner {
    std::size_t measure = 0;
    std::optional<NoteId> note;
};

class Block {
  public:
    explicit Block(const Fonts& fonts) : fonts_(&fonts) {}

    // Each returns the box of the new ink.
    Box glyph(Part part, Owner owner, Glyph glyph, Point at, double scale = 1.0);
    // With the left edge or the middle of its ink at x.
    Box glyph_left(Part part, Owner owner, Glyph glyph, Point at, double scale = 1.0);
    Box glyph_middle(Part part, Owner owner, Glyph glyph, Point at, double scale = 1.0);
    Box line(Part part, Owner owner, Point from, Point to, double thickness);
    Box curve(Part part, Owner owner, const CurveShape& curve);
    Box fill(Part part, Owner owner, std::vector<Point> corners);
    Box text(Part part, Owner owner, TextShape text);
    Box text_middle(Part part, Owner owner, TextShape text);  // at.x is the middle of its width

    // The lowest height at most `start` (highest at least `start`) where ink between left and right
    // stays `clear` of all there is. Staff and tablature lines do not count.
    double free_above(double left, double right, double start, double clear = 0.3) const;
    double free_below(double left, double right, double start, double clear = 0.3) const;
    // True if nothing but lines overlaps the box.
    bool is_free(const Box& box) const;

    const std::vector<Mark>& marks() const { return marks_; }
    const Fonts& fonts() const { return *fonts_; }

  private:
    Box add(Part part, Owner owner, const Box& box, Shape shape);
    const Fonts* fonts_;
    std::vector<Mark> marks_;
};

Box box_of(const CurveShape& curve);

}  // namespace bentline::engraving
