// Heads in their places: stems, beams' slopes, and the ink of each.
#include <algorithm>
#include <cmath>

#include "engine/export/engraving/line.h"

namespace bentline::engraving {

namespace {

constexpr double stem_length = 3.5;     // an octave (common practice)
constexpr double stem_begin = 0.17;     // from the head's middle
constexpr double beam_thickness = 0.5;  // half a space (common practice)
constexpr double beam_step = 0.75;      // from one beam to the next
constexpr double steepest = 0.22;       // slope of a beam
constexpr double largest_rise = 1.25;
constexpr double grace_stem_thickness = 0.1;

// Grace notes have their stems up, not far below the middle line; several share two beams.
std::vector<double> grace_stem_ends(const Head& head, const EventPlan& plan) {
    constexpr double alone = 2.3, beamed = 2.75;
    constexpr double steepest_grace = 0.3;
    std::vector<double> ends;
    if (head.graces.empty()) return ends;
    const double first_y = staff_height(head.graces.front().pitch);
    if (head.graces.size() == 1) return {std::min(first_y - alone, 0.5)};
    const double first_x = plan.graces.front().x;
    const double width = plan.graces.back().x - first_x;
    const double slope =
        std::clamp((staff_height(head.graces.back().pitch) - first_y) / std::max(width, 1e-9),
                   -steepest_grace, steepest_grace);
    double edge = 1e9;
    for (std::size_t i = 0; i < head.graces.size(); ++i) {
        const double end = std::min(staff_height(head.graces[i].pitch) - beamed, 0.5);
        edge = std::min(edge, end - slope * (plan.graces[i].x - first_x));
    }
    for (const GracePlan& grace : plan.graces)
        ends.push_back(edge + slope * (grace.x - first_x));
    return ends;
}

int flags_of(int denominator) {
    int flags = 0;
    for (; denominator > 4; denominator /= 2)
        ++flags;
    return flags;
}

void set_stem_side(PlacedHead& head) {
    const double inset = stem_thickness / 2.0;
    head.stem_x = head.up ? head.x + head.plan->head - inset : head.x + inset;
}

// Alone: an octave long, to the middle line from ledger lines, longer under many flags.
void set_single_stem(PlacedHead& head) {
    head.up = head.y > 0.0;
    set_stem_side(head);
    const double sign = head.up ? -1.0 : 1.0;
    const int flags = flags_of(head.written->shape.denominator);
    const double more = flags > 2 ? (flags - 2) * 0.8 : 0.0;
    head.stem_end = head.y + sign * (stem_length + more);
    if (head.up ? head.stem_end > 0.0 : head.stem_end < 0.0) head.stem_end = 0.0;
}

// Shortest stem of a beamed note, to the outer edge of its beams.
double least_stem(std::size_t levels) {
    return 2.6 + 0.65 * static_cast<double>(std::max<std::size_t>(levels, 1) - 1);
}

// How high and low what stands left of a head reaches.
struct Clearance {
    double top, bottom;
};
Clearance clearance_of(const Fonts& fonts, const PlacedHead& head) {
    Clearance clear{head.y - 0.5, head.y + 0.5};
    const auto take = [&](int alter, double y, double scale) {
        const Box& box = fonts[accidental_glyph(alter)].box;
        clear.top = std::min(clear.top, y + box.top * scale);
        clear.bottom = std::max(clear.bottom, y + box.bottom * scale);
    };
    if (head.plan->accidental) take(head.head().pitch.alter, head.y, 1.0);
    const std::vector<double> stem_ends = grace_stem_ends(head.head(), *head.plan);
    for (std::size_t i = 0; i < head.plan->graces.size(); ++i) {
        const GraceNote& grace = head.head().graces[i];
        const double y = staff_height(grace.pitch);
        clear.top = std::min(clear.top, stem_ends[i]);
        clear.bottom = std::max(clear.bottom, y + 0.45);
        if (head.plan->graces[i].accidental) take(grace.pitch.alter, y, grace_scale);
    }
    return clear;
}

// One beam over heads [first, last]: side, slope, and every stem's end.
void set_beam(const Fonts& fonts, Heads& heads, std::size_t first, std::size_t last) {
    double highest = heads[first].y, lowest = heads[first].y, sum = 0.0;
    for (std::size_t i = first; i <= last; ++i) {
        highest = std::min(highest, heads[i].y);
        lowest = std::max(lowest, heads[i].y);
        sum += heads[i].y;
    }
    // The head farthest from the middle line decides; then the most of them.
    const bool up = lowest > -highest || (lowest == -highest && sum > 0.0);
    const double sign = up ? -1.0 : 1.0;
    for (std::size_t i = first; i <= last; ++i) {
        heads[i].up = up;
        heads[i].beamed = true;
        set_stem_side(heads[i]);
    }
    const double width = heads[last].stem_x - heads[first].stem_x;
    double rise = (heads[last].y - heads[first].y) * 0.5;
    const double most = std::min(largest_rise, steepest * width);
    rise = std::clamp(rise, -most, most);
    for (std::size_t i = first + 1; i < last; ++i) {  // an inner head beyond both ends: level
        const bool beyond = up ? heads[i].y < std::min(heads[first].y, heads[last].y)
                               : heads[i].y > std::max(heads[first].y, heads[last].y);
        if (beyond) rise = 0.0;
    }
    const double slope = width > 0.0 ? rise / width : 0.0;
    const auto level_at = [&](std::size_t i) {
        return slope * (heads[i].stem_x - heads[first].stem_x);
    };
    // The outer edge at the first stem: as far out as the most pressing head wants.
    double edge = sign * -1e9;
    for (std::size_t i = first; i <= last; ++i) {
        const double stem = least_stem(heads[i].head().beams.size()) + 0.35;
        const double wanted = heads[i].y + sign * stem - level_at(i);
        edge = up ? std::min(edge, wanted) : std::max(edge, wanted);
    }
    // Inner grace notes and accidentals stay clear of the beams.
    for (std::size_t i = first + 1; i <= last; ++i) {
        const Clearance clear = clearance_of(fonts, heads[i]);
        const double depth =
            0.75 * static_cast<double>(std::max<std::size_t>(heads[i].head().beams.size(),
                                                             heads[i - 1].head().beams.size())) +
            0.15 + std::abs(slope) * std::max(1.8, heads[i].plan->left);
        const double wanted = (up ? clear.top - depth : clear.bottom + depth) - level_at(i);
        edge = up ? std::min(edge, wanted) : std::max(edge, wanted);
    }
    // Beams of notes on ledger lines reach the middle line.
    const double reach = up ? std::max(0.0, rise) : std::min(0.0, rise);
    edge = up ? std::min(edge, -reach) : std::max(edge, -reach);
    edge = up ? std::floor(edge * 4.0) / 4.0 : std::ceil(edge * 4.0) / 4.0;
    for (std::size_t i = first; i <= last; ++i)
        heads[i].stem_end = edge + level_at(i);
}

}  // namespace

Heads place_heads(const Task& task, const LinePlace& line) {
    Heads heads;
    for (std::size_t b = 0; b < line.bars.size(); ++b) {
        const BarPlace& bar = line.bars[b];
        const Measure& measure = task.score.measures[bar.measure];
        std::size_t beam = 0;  // where the open one began
        bool open = false;
        for (std::size_t e = 0; e < measure.events.size(); ++e) {
            const Event& event = measure.events[e];
            if (!event.head) continue;
            PlacedHead head;
            head.bar = b;
            head.event = e;
            head.written = &event;
            head.plan = &bar.plans[e];
            head.x = bar.events[e];
            head.y = staff_height(event.head->pitch);
            head.has_stem = event.shape.denominator > 1;
            set_single_stem(head);
            heads.push_back(head);
            if (event.head->beams.empty()) continue;
            const Beam level = event.head->beams[0];
            if (level == Beam::begin) {
                beam = heads.size() - 1;
                open = true;
            }
            if (level == Beam::end && open) {
                set_beam(task.fonts, heads, beam, heads.size() - 1);
                open = false;
            }
        }
    }
    return heads;
}

namespace {

void draw_ledgers(Block& staff, Owner owner, double left, double right, double y, double over) {
    const int lines = static_cast<int>(std::floor(std::abs(y) + 1e-9));
    for (int i = 3; i <= lines; ++i) {
        const double at = y < 0.0 ? -i : i;
        staff.line(Part::ledger, owner, {left - over, at}, {right + over, at}, 0.16);
    }
}

void draw_dots(Block& staff, Owner owner, double left, double y, int dots) {
    // On a line, the dot stands in the space above it.
    const bool on_line = std::abs(y - std::round(y)) < 0.25;
    for (int i = 0; i < dots; ++i)
        staff.glyph_left(Part::dot, owner, Glyph::dot, {left + 0.7 * i, on_line ? y - 0.5 : y});
}

Glyph flag_of(int flags, bool up) {
    const Glyph first = up ? Glyph::flag_up_8 : Glyph::flag_down_8;
    return static_cast<Glyph>(static_cast<int>(first) + std::min(flags, 5) - 1);
}

// A small note; returns its stem's place.
double draw_grace(Block& staff, Owner owner, const GraceNote& grace, const GracePlan& plan,
                  double x, double stem_end) {
    const double y = staff_height(grace.pitch);
    const double width = staff.fonts()[Glyph::head_black].box.width() * grace_scale;
    staff.glyph_left(Part::grace, owner, Glyph::head_black, {x + plan.x, y}, grace_scale);
    draw_ledgers(staff, owner, x + plan.x, x + plan.x + width, y, 0.22);
    if (plan.accidental) {
        staff.glyph_left(Part::accidental, owner, accidental_glyph(grace.pitch.alter),
                         {x + *plan.accidental, y}, grace_scale);
    }
    const double stem = x + plan.x + width - grace_stem_inset;
    staff.line(Part::stem, owner, {stem, y - 0.12}, {stem, stem_end}, grace_stem_thickness);
    return stem;
}

// One alone is an eighth with a stroke through its stem, played before the beat; several are
// sixteenths under two beams (common practice).
void draw_graces(Block& staff, const LinePlace& line, const PlacedHead& placed) {
    const Head& head = placed.head();
    const EventPlan& plan = *placed.plan;
    const Owner owner = placed.owner(line);
    const auto owner_of = [&](std::size_t i) {
        return Owner{owner.measure, head.graces[i].note ? head.graces[i].note : owner.note};
    };
    const std::vector<double> ends = grace_stem_ends(head, plan);
    std::vector<Point> tops;
    for (std::size_t i = 0; i < head.graces.size(); ++i) {
        const double stem =
            draw_grace(staff, owner_of(i), head.graces[i], plan.graces[i], placed.x, ends[i]);
        tops.push_back({stem, ends[i]});
    }
    if (tops.size() == 1) {
        const Point top = tops.front();
        staff.glyph(Part::flag, owner_of(0), Glyph::flag_up_8, top, grace_scale);
        staff.line(Part::grace, owner_of(0), {top.x - 0.5, top.y + 1.45},
                   {top.x + 0.6, top.y + 0.5}, grace_stem_thickness);
    }
    constexpr double thick = 0.33, step = 0.55;
    const double half = grace_stem_thickness / 2.0;
    for (std::size_t i = 0; i + 1 < tops.size(); ++i) {
        for (const double down : {0.0, step}) {
            const Point a{tops[i].x - (i == 0 ? half : 0.0), tops[i].y + down};
            const Point b{tops[i + 1].x + (i + 2 == tops.size() ? half : 0.0),
                          tops[i + 1].y + down};
            staff.fill(Part::beam, owner_of(i), {a, b, {b.x, b.y + thick}, {a.x, a.y + thick}});
        }
    }
}

}  // namespace

void draw_heads(Block& staff, const Task& task, const LinePlace& line, const Heads& heads) {
    for (const PlacedHead& placed : heads) {
        const Head& head = placed.head();
        const EventPlan& plan = *placed.plan;
        const Owner owner = placed.owner(line);
        const int denominator = placed.written->shape.denominator;
        staff.glyph_left(Part::head, owner, head_glyph(denominator), {placed.x, placed.y});
        draw_ledgers(staff, owner, placed.x, placed.x + plan.head, placed.y, 0.32);
        if (plan.accidental) {
            staff.glyph_left(Part::accidental, owner, accidental_glyph(head.pitch.alter),
                             {placed.x + *plan.accidental, placed.y});
        }
        draw_dots(staff, owner, placed.x + plan.dots, placed.y, placed.written->shape.dots);
        draw_graces(staff, line, placed);
        if (!placed.has_stem) continue;
        const double begin = placed.y + (placed.up ? -stem_begin : stem_begin);
        staff.line(Part::stem, owner, {placed.stem_x, begin}, {placed.stem_x, placed.stem_end},
                   stem_thickness);
        const int flags = flags_of(denominator);
        if (flags > 0 && !placed.beamed)
            staff.glyph(Part::flag, owner, flag_of(flags, placed.up),
                        {placed.stem_x, placed.stem_end});
    }
    (void)task;
}

namespace {

// A beam of one level between two stems, its outer edge on the stems' ends.
void draw_beam(Block& staff, Owner owner, const PlacedHead& a, const PlacedHead& b, Point from,
               Point to) {
    const double sign = a.up ? 1.0 : -1.0;  // towards the heads
    const double half = stem_thickness / 2.0;
    const double slope =
        b.stem_x > a.stem_x ? (b.stem_end - a.stem_end) / (b.stem_x - a.stem_x) : 0.0;
    from = {from.x - half, from.y - slope * half};
    to = {to.x + half, to.y + slope * half};
    staff.fill(
        Part::beam, owner,
        {from, to, {to.x, to.y + sign * beam_thickness}, {from.x, from.y + sign * beam_thickness}});
}

void draw_level(Block& staff, const LinePlace& line, const Heads& heads, std::size_t first,
                std::size_t last, std::size_t level) {
    const PlacedHead& a = heads[first];
    const PlacedHead& z = heads[last];
    const double slope = (z.stem_end - a.stem_end) / std::max(z.stem_x - a.stem_x, 1e-9);
    const double inward = (a.up ? 1.0 : -1.0) * beam_step * static_cast<double>(level);
    const auto point = [&](double x) {
        return Point{x, a.stem_end + slope * (x - a.stem_x) + inward};
    };
    std::optional<std::size_t> from;
    for (std::size_t i = first; i <= last; ++i) {
        const auto& beams = heads[i].head().beams;
        const Beam beam = level < beams.size() ? beams[level] : Beam::none;
        const double x = heads[i].stem_x;
        if (beam == Beam::begin) from = i;
        if (beam == Beam::end && from) {
            draw_beam(staff, heads[*from].owner(line), a, z, point(heads[*from].stem_x), point(x));
            from.reset();
        }
        if (beam == Beam::forward_hook)
            draw_beam(staff, heads[i].owner(line), a, z, point(x), point(x + 1.05));
        if (beam == Beam::backward_hook)
            draw_beam(staff, heads[i].owner(line), a, z, point(x - 1.05), point(x));
    }
}

}  // namespace

void draw_beams(Block& staff, const LinePlace& line, const Heads& heads) {
    for (std::size_t i = 0; i < heads.size(); ++i) {
        if (!heads[i].beamed || heads[i].head().beams[0] != Beam::begin) continue;
        std::size_t last = i;
        std::size_t levels = 1;
        while (heads[last].head().beams[0] != Beam::end) {
            levels = std::max(levels, heads[last].head().beams.size());
            ++last;
        }
        levels = std::max(levels, heads[last].head().beams.size());
        for (std::size_t level = 0; level < levels; ++level)
            draw_level(staff, line, heads, i, last, level);
    }
}

void draw_rests(Block& staff, const Task& task, const LinePlace& line, const Heads& heads) {
    (void)heads;
    for (const BarPlace& bar : line.bars) {
        const Measure& measure = task.score.measures[bar.measure];
        for (std::size_t e = 0; e < measure.events.size(); ++e) {
            const Event& event = measure.events[e];
            if (event.head) continue;
            const Owner owner{bar.measure, {}};
            if (event.whole_measure) {
                const double from = std::max(bar.left, bar.music);
                staff.glyph_middle(Part::rest, owner, Glyph::rest_whole,
                                   {(from + bar.right) / 2.0, -1.0});
                continue;
            }
            const Glyph sign = rest_glyph(event.shape.denominator);
            double y = sign == Glyph::rest_whole ? -1.0 : 0.0;
            const Box& box = staff.fonts()[sign].box;
            // A rest under or over a beam steps aside by whole spaces.
            for (const double step : {0.0, 1.0, -1.0, 2.0, -2.0, 3.0, -3.0}) {
                const Box here = box.moved(bar.events[e] - box.left, y + step);
                if (!staff.is_free({here.left, here.top - 0.1, here.right, here.bottom + 0.1}))
                    continue;
                y += step;
                break;
            }
            staff.glyph_left(Part::rest, owner, sign, {bar.events[e], y});
            draw_dots(staff, owner, bar.events[e] + bar.plans[e].dots, y - 0.5, event.shape.dots);
        }
    }
}

}  // namespace bentline::engraving
