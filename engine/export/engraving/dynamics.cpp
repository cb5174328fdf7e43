// Dynamics and hairpins: one row under the staff.
#include <algorithm>

#include "engine/export/engraving/line.h"

namespace bentline::engraving {

namespace {

constexpr double half_open = 0.55;  // of a hairpin's wide end

struct Letters {
    Owner owner;
    std::vector<Glyph> glyphs;
    double pen = 0.0;   // where the first begins
    double left = 0.0;  // of the ink
    double right = 0.0;
};
struct Wedge {
    Owner owner;
    double left = 0.0;
    double right = 0.0;
    double open_left = 0.0;  // half the opening at either end
    double open_right = 0.0;
};

std::vector<Glyph> glyphs_of(Dynamic dynamic) {
    std::vector<Glyph> glyphs;
    for (const char* c = to_text(dynamic); *c != '\0'; ++c)
        glyphs.push_back(*c == 'f'   ? Glyph::dynamic_f
                         : *c == 'm' ? Glyph::dynamic_m
                                     : Glyph::dynamic_p);
    return glyphs;
}

Letters letters_at(const Fonts& fonts, Owner owner, Dynamic dynamic, double middle) {
    Letters letters{owner, glyphs_of(dynamic), 0.0, 0.0, 0.0};
    double width = 0.0;
    for (const Glyph glyph : letters.glyphs)
        width += fonts[glyph].advance;
    letters.pen = middle - width / 2.0;
    const GlyphMeasure& last = fonts[letters.glyphs.back()];
    letters.left = letters.pen + std::min(0.0, fonts[letters.glyphs.front()].box.left);
    letters.right = letters.pen + width + std::max(0.0, last.box.right - last.advance);
    return letters;
}

double place_of(const LinePlace& line, std::size_t measure, std::size_t event, bool end) {
    const BarPlace& bar = line.bars[measure - line.bars.front().measure];
    if (event >= bar.events.size()) return bar.right;
    return bar.events[event] + (end ? bar.plans[event].head : 0.0);
}

std::vector<Wedge> wedges_of(const Task& task, const LinePlace& line) {
    const std::size_t first = line.bars.front().measure;
    const std::size_t last = line.bars.back().measure;
    std::vector<Wedge> wedges;
    for (const Hairpin& pin : task.score.hairpins) {
        if (pin.last_measure < first || pin.first_measure > last) continue;
        const bool begins = pin.first_measure >= first;
        const bool ends = pin.last_measure <= last;
        Wedge wedge;
        wedge.owner = {std::max(first, pin.first_measure), {}};
        wedge.left = begins ? place_of(line, pin.first_measure, pin.first_event, false)
                            : line.bars.front().music + 0.3;
        wedge.right =
            ends ? place_of(line, pin.last_measure, pin.last_event, true) : line.music_end() - 0.3;
        wedge.open_left = !begins ? 0.3 : pin.grows ? 0.0 : half_open;
        wedge.open_right = !ends ? 0.3 : pin.grows ? half_open : 0.0;
        wedges.push_back(wedge);
    }
    return wedges;
}

// Of two marks at one place the later one counts; one that runs into the mark before it steps
// aside.
void part_letters(std::vector<Letters>& marks) {
    std::vector<Letters> parted;
    for (Letters& mark : marks) {
        if (!parted.empty() && mark.pen < parted.back().pen + 1.0) parted.pop_back();
        if (!parted.empty()) {
            const double step = std::max(0.0, parted.back().right + 0.3 - mark.left);
            mark.pen += step;
            mark.left += step;
            mark.right += step;
        }
        parted.push_back(std::move(mark));
    }
    marks = std::move(parted);
}

}  // namespace

void draw_dynamics(Block& staff, const Task& task, const LinePlace& line, const Heads& heads) {
    (void)heads;
    const Fonts& fonts = staff.fonts();
    std::vector<Letters> marks;
    for (const BarPlace& bar : line.bars) {
        const Measure& measure = task.score.measures[bar.measure];
        for (const DynamicMark& mark : measure.dynamics) {
            const double middle = x_at(bar, measure, mark.at) + 0.65;
            marks.push_back(letters_at(fonts, {bar.measure, {}}, mark.dynamic, middle));
        }
    }
    part_letters(marks);
    for (Letters& mark : marks) {  // nothing runs off the line
        const double over = std::max(0.0, mark.right - line.right);
        mark.pen -= over;
        mark.left -= over;
        mark.right -= over;
    }
    std::vector<Wedge> wedges = wedges_of(task, line);
    for (Wedge& wedge : wedges) {  // a wedge begins and ends beside the letters
        for (const Letters& letters : marks) {
            if (letters.right < wedge.left - 0.3 || letters.left > wedge.right + 0.3) continue;
            if ((letters.left + letters.right) / 2.0 < (wedge.left + wedge.right) / 2.0) {
                wedge.left = std::max(wedge.left, letters.right + 0.35);
            } else {
                wedge.right = std::min(wedge.right, letters.left - 0.35);
            }
        }
    }
    std::erase_if(wedges, [](const Wedge& wedge) { return wedge.right - wedge.left < 1.5; });
    double top = 2.7;
    for (const Letters& letters : marks)
        top = staff.free_below(letters.left - 0.3, letters.right + 0.3, top, 0.35);
    for (const Wedge& wedge : wedges)
        top = staff.free_below(wedge.left, wedge.right, top, 0.35);
    const double middle = top + 1.35;  // f rises that far over the letters' middle
    for (const Letters& letters : marks) {
        double x = letters.pen;
        for (const Glyph glyph : letters.glyphs) {
            staff.glyph(Part::dynamic, letters.owner, glyph, {x, middle + 0.55});
            x += fonts[glyph].advance;
        }
    }
    for (const Wedge& wedge : wedges) {
        for (const double side : {-1.0, 1.0}) {
            staff.line(Part::hairpin, wedge.owner, {wedge.left, middle + side * wedge.open_left},
                       {wedge.right, middle + side * wedge.open_right}, 0.12);
        }
    }
}

}  // namespace bentline::engraving
