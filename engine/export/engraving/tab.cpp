// The tablature: frets on their strings, bends, slides, and the other fret of a trill.
#include <algorithm>
#include <cmath>
#include <cstdio>

#include "engine/export/engraving/line.h"

namespace bentline::engraving {

void draw_tab_frame(Block& tab, const Task& task, const LinePlace& line);

namespace {

constexpr double slide_thickness = 0.14;
constexpr double gap = 0.2;
constexpr double figure_middle = 0.31;  // of the em: half the height of a figure

struct PlacedFret {
    const PlacedHead* head = nullptr;
    double middle = 0.0;  // of the figures
    double y = 0.0;       // of the string
    Box box;
};

double string_height(const Task& task, const EventPlan& plan) {
    if (plan.spot) return (plan.spot->string - 1) * tab_gap;
    return (task.tab.strings - 1) / 2.0 * tab_gap;
}

Box draw_figures(Block& tab, Owner owner, const std::string& fret, double middle, double y,
                 double size) {
    return tab.text_middle(Part::fret, owner,
                           {fret, Face::figures, size, {middle, y + figure_middle * size}});
}

void draw_letters(Block& tab, const Task& task, const LinePlace& line) {
    const double height = (task.tab.strings - 1) * tab_gap;
    const Owner owner{line.bars.front().measure, {}};
    const double size = 2.5;
    const double step = 2.05;
    double y = height / 2.0 - step + 0.65 * size / 2.0;
    for (const char* letter : {"T", "A", "B"}) {
        tab.text_middle(Part::clef, owner, {letter, Face::bold, size, {line.left + 1.9, y}});
        y += step;
    }
}

// The graces before a head; the line from the last one where the head is slid into.
void draw_graces(Block& tab, const LinePlace& line, const PlacedFret& fret) {
    const EventPlan& plan = *fret.head->plan;
    const Head& head = fret.head->head();
    const Owner owner = fret.head->owner(line);
    const double width = tab.fonts()[Glyph::head_black].box.width() * grace_scale;
    for (std::size_t i = 0; i < plan.graces.size(); ++i) {
        const GracePlan& grace = plan.graces[i];
        if (!grace.spot) continue;
        const Owner of_grace{owner.measure, head.graces[i].note ? head.graces[i].note : owner.note};
        const double y = (grace.spot->string - 1) * tab_gap;
        const Box box = draw_figures(tab, of_grace, std::to_string(grace.spot->fret),
                                     fret.head->x + grace.x + width / 2.0, y, small_fret_size);
        if (i + 1 < plan.graces.size() || sign_of<SlideInSign>(head) == nullptr) continue;
        const double tilt = plan.spot && grace.spot->fret > plan.spot->fret ? -0.35 : 0.35;
        tab.line(Part::tab_slide, owner, {box.right + gap, y + tilt},
                 {fret.box.left - gap, fret.y - tilt}, slide_thickness);
    }
}

void draw_own_slides(Block& tab, const LinePlace& line, const PlacedFret& fret) {
    const Head& head = fret.head->head();
    const Owner owner = fret.head->owner(line);
    if (const auto* scoop = sign_of<ScoopSign>(head)) {
        const double side = scoop->from_above ? -1.0 : 1.0;
        tab.line(Part::tab_slide, owner, {fret.box.left - gap - 0.85, fret.y + side * 0.5},
                 {fret.box.left - gap, fret.y - side * 0.25}, slide_thickness);
    }
    if (const auto* fall = sign_of<FallSign>(head)) {
        const double side = fall->upward ? -1.0 : 1.0;
        const double from =
            std::max(fret.box.right, fret.head->x + fret.head->plan->tab_after) + gap;
        tab.line(Part::tab_slide, owner, {from, fret.y - side * 0.25},
                 {from + 1.0, fret.y + side * 0.5}, slide_thickness);
    }
}

void draw_slides(Block& tab, const Task& task, const LinePlace& line,
                 const std::vector<PlacedFret>& frets, std::size_t i) {
    const PlacedFret& from = frets[i];
    const Owner owner = from.head->owner(line);
    const double start = std::max(from.box.right, from.head->x + from.head->plan->tab_after) + gap;
    const bool here = i + 1 < frets.size();
    const auto fret_of = [](const PlacedFret& f) { return f.head->plan->spot->fret; };
    if (!from.head->plan->spot) return;
    double end = line.music_end() - 0.4;
    double tilt = 0.35;
    if (here) {
        const PlacedFret& to = frets[i + 1];
        if (!to.head->plan->spot || to.head->plan->spot->string != from.head->plan->spot->string)
            return;
        end = std::min(to.box.left, to.head->x + to.head->plan->tab_left) - gap;
        if (fret_of(to) < fret_of(from)) tilt = -0.35;
    } else if (const Head* after = head_after(task, line);
               after != nullptr &&
               after->pitch.key().value() < from.head->head().pitch.key().value()) {
        tilt = -0.35;
    }
    tab.line(Part::tab_slide, owner, {start, from.y + tilt}, {end, from.y - tilt}, slide_thickness);
}

// Arrives from the line before.
void draw_arriving_slide(Block& tab, const Task& task, const LinePlace& line,
                         const std::vector<PlacedFret>& frets) {
    const Head* before = head_before(task, line);
    if (before == nullptr || sign_of<SlideToNextSign>(*before) == nullptr || !line.clef) return;
    const PlacedFret& to = frets.front();
    if (to.head->bar != 0 || to.head->event != 0 || !to.head->plan->spot) return;
    const auto from = task.tab.spots.find(before->note);
    if (from == task.tab.spots.end() || from->second.string != to.head->plan->spot->string) return;
    const double tilt = from->second.fret > to.head->plan->spot->fret ? -0.35 : 0.35;
    const double end = std::min(to.box.left, to.head->x + to.head->plan->tab_left) - gap;
    tab.line(Part::tab_slide, to.head->owner(line), {end - 1.0, to.y + tilt}, {end, to.y - tilt},
             slide_thickness);
}

void draw_arrow_head(Block& block, Owner owner, Point tip, double up) {
    block.fill(Part::bend, owner,
               {tip, {tip.x - 0.33, tip.y - up * 0.75}, {tip.x + 0.33, tip.y - up * 0.75}});
}

std::string measured(const BendSign& bend) {
    char text[32];
    std::snprintf(text, sizeof text, "%+.0f c", bend.measured.value());  // NOLINT
    return text;
}

}  // namespace

void draw_bend(Block& block, const Task& task, Owner owner, const BendSign& bend, Point from,
               double middle, double top, double way) {
    constexpr double thick = 0.13;
    constexpr double tip = 0.7;  // the shaft ends inside the arrow head
    const double peak = bend.prebend ? middle : from.x + way;
    if (bend.prebend) {
        block.line(Part::bend, owner, {peak, from.y - 0.85}, {peak, top + tip}, thick);
    } else {
        block.curve(Part::bend, owner,
                    {from,
                     {from.x + 0.75 * way, from.y},
                     {peak, from.y - 0.6},
                     {peak, top + tip},
                     thick,
                     0.0});
    }
    draw_arrow_head(block, owner, {peak, top}, -1.0);
    if (bend.release) {
        const double end = peak + way;
        block.curve(Part::bend, owner,
                    {{peak, top + 0.15},
                     {end - std::min(0.25, 0.22 * way), top + 0.15},
                     {end, top + 0.6},
                     {end, from.y - 0.65},
                     thick,
                     0.0});
        draw_arrow_head(block, owner, {end, from.y}, 1.0);
    }
    TextShape figure{bend_figure(bend.semitones), Face::text, 1.7, {peak, 0.0}};
    Box ink = text_box(block.fonts(), figure);
    const double half = ink.width() / 2.0;
    figure.at.y = block.free_above(peak - half, peak + half, top - 0.25, 0.22) - ink.bottom;
    const Box label = block.text_middle(Part::bend, owner, figure);
    if (!task.settings.measured) return;
    TextShape small{measured(bend), Face::italic, small_type, {peak, 0.0}};
    ink = text_box(block.fonts(), small);
    const double small_half = ink.width() / 2.0;
    small.at.y =
        block.free_above(peak - small_half, peak + small_half, label.top - 0.2, 0.22) - ink.bottom;
    block.text_middle(Part::figure, owner, small);
}

Block engrave_tab(const Task& task, const LinePlace& line) {
    Block tab(task.fonts);
    const Heads heads = place_heads(task, line);
    if (line.clef) draw_letters(tab, task, line);
    std::vector<PlacedFret> frets;
    for (const PlacedHead& head : heads) {
        const EventPlan& plan = *head.plan;
        if (plan.fret.empty()) continue;
        PlacedFret fret{&head, head.x + plan.head / 2.0, string_height(task, plan), {}};
        fret.box =
            draw_figures(tab, head.owner(line), plan.fret, fret.middle, fret.y, plan.fret_em);
        frets.push_back(fret);
    }
    for (const PlacedFret& fret : frets) {
        const Head& head = fret.head->head();
        draw_graces(tab, line, fret);
        if (const auto* trill = sign_of<TrillSign>(head);
            trill != nullptr && fret.head->plan->spot) {
            const int other =
                fret.head->plan->spot->fret + trill->with.key().value() - head.pitch.key().value();
            const std::string text = "(" + std::to_string(other) + ")";
            const double half = fret_width(task.fonts, text, small_fret_size) / 2.0;
            draw_figures(tab, fret.head->owner(line), text, fret.box.right + 0.12 + half, fret.y,
                         small_fret_size);
        }
        draw_own_slides(tab, line, fret);
    }
    for (std::size_t i = 0; i < frets.size(); ++i) {
        // The sign stands on a tie's last head, the figures on its first.
        const PlacedHead* last = frets[i].head;
        while (last != &heads.back() && last->head().tied_to_next)
            ++last;
        if (sign_of<SlideToNextSign>(last->head()) != nullptr)
            draw_slides(tab, task, line, frets, i);
        if (last != frets[i].head && sign_of<FallSign>(last->head()) != nullptr) {
            PlacedFret end = frets[i];
            end.head = last;
            end.box = {last->x, 0.0, last->x, 0.0};
            draw_own_slides(tab, line, end);
        }
    }
    if (!frets.empty()) draw_arriving_slide(tab, task, line, frets);
    for (const PlacedFret& fret : frets) {
        const auto* bend = sign_of<BendSign>(fret.head->head());
        if (bend == nullptr) continue;
        const double right = fret.head->plan->tab_after;
        const double start = fret.box.right + 0.1;
        const double least = bend->release ? -2.9 : -2.1;
        const double top = std::min(least, tab.free_above(start, fret.head->x + right, 0.0, 0.0));
        draw_bend(tab, task, fret.head->owner(line), *bend, {start, fret.y}, fret.middle, top,
                  fret.head->plan->bend_way);
    }
    draw_tab_frame(tab, task, line);
    return tab;
}

}  // namespace bentline::engraving
