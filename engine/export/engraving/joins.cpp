// Ties and slides: what joins one head to another or leads to and from nowhere.
#include <algorithm>
#include <cmath>

#include "engine/export/engraving/line.h"

namespace bentline::engraving {

namespace {

constexpr double gap = 0.18;
constexpr double slide_thickness = 0.14;

// A tie from one point to another at the same height; side -1 curves upwards.
void draw_tie(Block& staff, Owner owner, double from, double to, double y, double side) {
    const double length = std::max(to - from, 0.8);
    const double height = side * std::clamp(0.35 + 0.07 * length, 0.45, 1.05);
    staff.curve(Part::tie, owner,
                {{from, y},
                 {from + 0.25 * length, y + 1.3 * height},
                 {from + 0.75 * length, y + 1.3 * height},
                 {from + length, y},
                 0.08,
                 0.17});
}

double tie_side(const PlacedHead& head) {
    if (!head.has_stem) return head.y <= 0.0 ? -1.0 : 1.0;
    return head.up ? 1.0 : -1.0;
}

void draw_ties(Block& staff, const LinePlace& line, const Heads& heads) {
    for (std::size_t i = 0; i < heads.size(); ++i) {
        const PlacedHead& head = heads[i];
        if (i == 0 && head.head().tied_from_before) {
            const double side = tie_side(head);
            const double start =
                std::max(line.bars[head.bar].music, line.bars[head.bar].left) + 0.1;
            draw_tie(staff, head.owner(line), std::min(start, head.x - 1.0), head.x - 0.1,
                     head.y + side * 0.5, side);
        }
        if (!head.head().tied_to_next) continue;
        const double side = tie_side(head);
        double from = head.x + head.plan->head * 0.8;
        const double lift = 0.72;
        if (head.written->shape.dots > 0) from = head.x + head.plan->after + 0.1;
        const bool next_here = i + 1 < heads.size();
        double to = line.music_end() - 0.3;
        if (next_here) {
            const PlacedHead& next = heads[i + 1];
            const bool stem_in_the_way = next.has_stem && !next.up && side > 0.0;
            to = stem_in_the_way ? next.x - 0.15 : next.x + next.plan->head * 0.2;
        }
        draw_tie(staff, head.owner(line), from, to, head.y + side * lift, side);
    }
}

}  // namespace

const Head* head_after(const Task& task, const LinePlace& line) {
    for (std::size_t m = line.bars.back().measure + 1; m < task.score.measures.size(); ++m) {
        const auto& events = task.score.measures[m].events;
        if (!events.empty()) return events.front().head ? &*events.front().head : nullptr;
    }
    return nullptr;
}

const Head* head_before(const Task& task, const LinePlace& line) {
    for (std::size_t m = line.bars.front().measure; m-- > 0;) {
        const auto& events = task.score.measures[m].events;
        for (std::size_t e = events.size(); e-- > 0;)
            return events[e].head ? &*events[e].head : nullptr;
    }
    return nullptr;
}

namespace {

// True where nothing is written between two heads of a line.
bool adjacent(const LinePlace& line, const PlacedHead& a, const PlacedHead& b) {
    if (a.bar == b.bar) return b.event == a.event + 1;
    return b.bar == a.bar + 1 && b.event == 0 && a.event + 1 == line.bars[a.bar].events.size();
}

// after: the head that follows the line's last one.
void draw_slide(Block& staff, const LinePlace& line, const PlacedHead& head, const PlacedHead* next,
                const Head* after) {
    Point from{head.x + head.plan->after + gap, head.y};
    const BarPlace& bar = line.bars[head.bar];
    const bool last_of_bar = head.event + 1 == bar.events.size();
    const Head* to_head = next != nullptr ? &next->head() : after;
    const int steps =
        to_head == nullptr ? -1 : to_head->pitch.key().value() - head.head().pitch.key().value();
    Point to{last_of_bar ? bar.right - 0.4 : bar.events[head.event + 1] - 0.3, head.y};
    if (next != nullptr && adjacent(line, head, *next)) {
        to = {next->x + next->plan->staff_left - gap, next->y};
        if (from.y == to.y) {
            from.y += steps >= 0 ? 0.3 : -0.3;
            to.y -= steps >= 0 ? 0.3 : -0.3;
        }
    } else {  // a rest stands between, or the line ends: the slide only sets out
        to.x = std::min(to.x, from.x + 1.3);
        to.y += steps >= 0 ? -0.6 : 0.6;
    }
    const bool flag = head.up && !head.beamed && head.written->shape.denominator >= 8;
    if (flag && to.y < from.y - 0.3) from.x = std::max(from.x, head.x + head.plan->head + 0.85);
    staff.line(Part::slide, head.owner(line), from, to, slide_thickness);
}

void draw_slides(Block& staff, const Task& task, const LinePlace& line, const Heads& heads) {
    const Head* after = head_after(task, line);
    for (std::size_t i = 0; i < heads.size(); ++i) {
        if (sign_of<SlideToNextSign>(heads[i].head()) == nullptr) continue;
        const PlacedHead* next = i + 1 < heads.size() ? &heads[i + 1] : nullptr;
        draw_slide(staff, line, heads[i], next, after);
    }
    const Head* before = head_before(task, line);
    const bool opens = !heads.empty() && heads.front().bar == 0 && heads.front().event == 0;
    if (opens && before != nullptr && sign_of<SlideToNextSign>(*before) != nullptr && line.clef) {
        const PlacedHead& head = heads.front();
        const double rise = staff_height(before->pitch) > head.y ? 0.6 : -0.6;
        const double to = head.x + head.plan->staff_left - gap;
        staff.line(Part::slide, head.owner(line), {to - 1.1, head.y + rise}, {to, head.y},
                   slide_thickness);
    }
}

// Scoops, falls, and the line from a grace note.
void draw_short_slides(Block& staff, const LinePlace& line, const PlacedHead& head) {
    const Owner owner = head.owner(line);
    const EventPlan& plan = *head.plan;
    const double lead = head.x + plan.lead - gap;
    if (sign_of<SlideInSign>(head.head()) != nullptr && !plan.graces.empty()) {
        const double width = staff.fonts()[Glyph::head_black].box.width() * grace_scale;
        Point from{head.x + plan.graces.back().x + width + gap,
                   staff_height(head.head().graces.back().pitch)};
        Point to{lead, head.y};
        if (slides_under_flag(head.head())) from.x += grace_flag_width(staff.fonts());
        if (from.y == to.y) {
            from.y += 0.25;
            to.y -= 0.25;
        }
        staff.line(Part::slide, owner, from, to, slide_thickness);
    }
    if (const auto* scoop = sign_of<ScoopSign>(head.head())) {
        const double side = scoop->from_above ? -1.0 : 1.0;
        staff.curve(Part::slide, owner,
                    {{lead - 1.0, head.y + side * 0.95},
                     {lead - 0.7, head.y + side * 0.75},
                     {lead - 0.3, head.y + side * 0.35},
                     {lead, head.y + side * 0.1},
                     slide_thickness,
                     0.0});
    }
    if (const auto* fall = sign_of<FallSign>(head.head())) {
        const double side = fall->upward ? -1.0 : 1.0;
        const bool flag = head.written->shape.denominator >= 8 && !head.beamed;
        double from = head.x + plan.after + gap;
        if (flag && head.up && fall->upward) from = std::max(from, head.x + plan.head + 0.85);
        staff.curve(Part::slide, owner,
                    {{from, head.y},
                     {from + 0.5, head.y + side * 0.05},
                     {from + 0.95, head.y + side * 0.5},
                     {from + 1.2, head.y + side * 1.2},
                     slide_thickness,
                     0.0});
    }
}

}  // namespace

void draw_ties_and_slides(Block& staff, const Task& task, const LinePlace& line,
                          const Heads& heads) {
    draw_ties(staff, line, heads);
    draw_slides(staff, task, line, heads);
    for (const PlacedHead& head : heads)
        draw_short_slides(staff, line, head);
}

}  // namespace bentline::engraving
