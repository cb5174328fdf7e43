// A whole line of music: staff over tablature.
#include <algorithm>
#include <limits>

#include "engine/export/engraving/line.h"

namespace bentline::engraving {

namespace {

constexpr double least_between = 3.4;  // staff to tablature
constexpr double clear_between = 0.75;

// Without a tablature, bends stand over the staff.
void draw_bends_on_staff(Block& staff, const Task& task, const LinePlace& line,
                         const Heads& heads) {
    for (const PlacedHead& head : heads) {
        const auto* bend = sign_of<BendSign>(head.head());
        if (bend == nullptr) continue;
        const double start = head.x + head.plan->after + 0.1;
        const double middle = head.x + head.plan->head / 2.0;
        const double right = head.x + head.plan->head + 2.0 * bend_reach;
        const double base = std::min(-2.6, staff.free_above(head.x, right, -2.6, 0.25));
        draw_bend(staff, task, head.owner(line), *bend, {start, base}, middle, base - 1.9);
    }
}

Box ink_of(const std::vector<Mark>& marks) {
    Box box = marks.front().box;
    for (const Mark& mark : marks)
        box = united(box, mark.box);
    return box;
}

}  // namespace

Block engrave_staff(const Task& task, const LinePlace& line) {
    Block staff(task.fonts);
    const Heads heads = place_heads(task, line);
    draw_frame(staff, task, line);
    draw_heads(staff, task, line, heads);
    draw_beams(staff, line, heads);
    draw_rests(staff, task, line, heads);
    draw_ties_and_slides(staff, task, line, heads);
    draw_articulations(staff, line, heads);
    draw_tuplets(staff, task, line, heads);
    draw_waves_and_trills(staff, task, line, heads);
    if (!task.settings.tab) draw_bends_on_staff(staff, task, line, heads);
    draw_dynamics(staff, task, line, heads);
    draw_chords(staff, task, line);
    return staff;
}

double distance(const std::vector<Mark>& upper, const std::vector<Mark>& lower, double clear) {
    double needed = -std::numeric_limits<double>::infinity();
    for (const Mark& a : upper) {
        for (const Mark& b : lower) {
            if (a.box.right + clear <= b.box.left || b.box.right + clear <= a.box.left) continue;
            needed = std::max(needed, a.box.bottom - b.box.top + clear);
        }
    }
    return needed;
}

System engrave_system(const Task& task, const LinePlace& line) {
    const Block staff = engrave_staff(task, line);
    System system;
    for (const BarPlace& bar : line.bars)
        system.bars.push_back({bar.measure, bar.left, bar.right});
    const double above = -ink_of(staff.marks()).top;
    for (const Mark& mark : staff.marks())
        system.marks.push_back(moved(mark, 0.0, above));
    system.staff_top = above - 2.0;
    system.tab_top = system.staff_top;
    double bottom = above + 2.0;
    if (task.settings.tab) {
        const Block tab = engrave_tab(task, line);
        const double down =
            std::max(distance(staff.marks(), tab.marks(), clear_between), 2.0 + least_between);
        for (const Mark& mark : tab.marks())
            system.marks.push_back(moved(mark, 0.0, above + down));
        system.tab_top = above + down;
        bottom = system.tab_top + (task.tab.strings - 1) * tab_gap;
    }
    if (line.clef) {  // joins both at the left
        Mark joint{Part::system_line, line.bars.front().measure, {}, {}, {}};
        const double x = line.left;
        joint.box = {x - 0.08, system.staff_top - 0.05, x + 0.08, bottom + 0.05};
        joint.shape = LineShape{{x, joint.box.top}, {x, joint.box.bottom}, 0.16};
        system.marks.push_back(joint);
    }
    system.box = ink_of(system.marks);
    return system;
}

}  // namespace bentline::engraving
