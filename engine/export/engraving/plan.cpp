// Extents of one event.
#include "engine/export/engraving/plan.h"

#include <algorithm>
#include <cmath>

namespace bentline::engraving {

namespace {

constexpr double accidental_gap = 0.22;
constexpr double line_gap = 0.18;   // between a slide's line and what it joins
constexpr double least_line = 1.0;  // a slide's line shows at least this much

double width_of(const Fonts& fonts, Glyph glyph, double scale = 1.0) {
    return fonts[glyph].box.width() * scale;
}

bool needs_ledger(const SpelledPitch& pitch) {
    return std::abs(staff_height(pitch)) > 2.9;
}

std::optional<TabSpot> spot_of(const Task& task, NoteId note) {
    const auto found = task.tab.spots.find(note);
    if (found == task.tab.spots.end()) return std::nullopt;
    return found->second;
}

// Grace notes from the head leftwards. `lead` is where the head's own ink begins.
void plan_graces(const Task& task, const Head& head, EventPlan& plan) {
    const double width = width_of(task.fonts, Glyph::head_black, grace_scale);
    const bool slides = sign_of<SlideInSign>(head) != nullptr;
    // Before a scoop's line on the staff, and in the tablature.
    const double scoop = sign_of<ScoopSign>(head) != nullptr ? 1.3 : 0.0;
    double edge = plan.lead - scoop;
    double tab_edge = plan.head / 2.0 - plan.fret_half - (plan.fret.empty() ? 0.0 : scoop);
    plan.graces.resize(head.graces.size());
    for (std::size_t i = head.graces.size(); i-- > 0;) {
        const GraceNote& grace = head.graces[i];
        GracePlan& place = plan.graces[i];
        const bool joined = slides && i + 1 == head.graces.size();
        if (grace.note) {
            place.spot = spot_of(task, *grace.note);
        } else if (plan.spot) {
            const int fret = plan.spot->fret + grace.pitch.key().value() - head.pitch.key().value();
            if (fret >= 0) place.spot = TabSpot{plan.spot->string, fret};
        }
        double gap = joined ? least_line + 2.0 * line_gap : 0.45;
        if (head.graces.size() == 1) {  // it has a flag
            const double flag = grace_flag_width(task.fonts);
            if (!joined)
                gap = std::max(gap, flag + 0.2);
            else if (slides_under_flag(head))
                gap += flag;
        }
        double x = edge - gap - width;
        if (task.settings.tab && place.spot) {
            const double half =
                fret_width(task.fonts, std::to_string(place.spot->fret), small_fret_size) / 2.0;
            const double middle = std::min(x + width / 2.0, tab_edge - gap - half);
            x = middle - width / 2.0;
            tab_edge = middle - half;
        }
        place.x = x;
        edge = x - (needs_ledger(grace.pitch) ? 0.25 : 0.0);
        if (grace.show_accidental) {
            const Glyph sign = accidental_glyph(grace.pitch.alter);
            place.accidental = x - accidental_gap - width_of(task.fonts, sign, grace_scale);
            edge = *place.accidental;
        }
    }
    plan.staff_left = edge;
    plan.tab_left = tab_edge;
    plan.left = std::max({plan.left, -edge, -tab_edge});
}

// What stands right of the fret: the other fret of a trill, then a bend's arrow.
// How far a bend's arrow and its figures reach right of `start`, and left of `middle`.
void plan_bend(const Task& task, const BendSign& bend, double start, double middle,
               EventPlan& plan) {
    double half = text_width(task.fonts, {bend_figure(bend.semitones), Face::text, 1.7, {}}) / 2.0;
    if (task.settings.measured)
        half = std::max(half, text_width(task.fonts, {"+000 c", Face::italic, 1.35, {}}) / 2.0);
    const double arrow = bend.prebend ? middle : start + 0.1 + bend_reach;
    plan.left = std::max(plan.left, half - middle);
    plan.tab_after = std::max(plan.tab_after, arrow + std::max(half, 0.35));
    if (bend.release) plan.tab_after = std::max(plan.tab_after, arrow + bend_reach + 0.35);
}

// What stands right of the fret: the other fret of a trill, then a bend's arrow.
void plan_tab(const Task& task, const Head& head, EventPlan& plan) {
    const double middle = plan.head / 2.0;
    const auto* bend = sign_of<BendSign>(head);
    if (plan.fret.empty()) {
        plan.tab_after = middle;
        if (bend != nullptr) plan_bend(task, *bend, plan.after, middle, plan);
        return;
    }
    plan.left = std::max(plan.left, plan.fret_half - middle);
    plan.tab_after = middle + plan.fret_half;
    if (const auto* trill = sign_of<TrillSign>(head); trill != nullptr && plan.spot) {
        const int fret = plan.spot->fret + trill->with.key().value() - head.pitch.key().value();
        plan.tab_after +=
            0.15 + fret_width(task.fonts, "(" + std::to_string(fret) + ")", small_fret_size);
    }
    if (bend != nullptr) plan_bend(task, *bend, plan.tab_after, middle, plan);
}

}  // namespace

EventPlan plan_event(const Task& task, std::size_t measure, std::size_t index, bool opens_line) {
    const Event& event = task.score.measures[measure].events[index];
    EventPlan plan;
    if (!event.head) {
        plan.head = width_of(task.fonts, event.whole_measure ? Glyph::rest_whole
                                                             : rest_glyph(event.shape.denominator));
        plan.after = plan.head;
        if (event.shape.dots > 0 && !event.whole_measure) {
            plan.dots = plan.head + 0.35;
            plan.after = plan.dots + 0.7 * event.shape.dots - 0.2;
        }
        plan.right = plan.after;
        return plan;
    }
    const Head& head = *event.head;
    plan.head = width_of(task.fonts, head_glyph(event.shape.denominator));
    plan.spot = task.settings.tab ? spot_of(task, head.note) : std::nullopt;
    if (task.settings.tab && !head.tied_from_before)
        plan.fret = plan.spot ? std::to_string(plan.spot->fret) : "?";
    if (opens_line && head.tied_from_before && plan.spot) {
        plan.fret = "(" + std::to_string(plan.spot->fret) + ")";
        plan.fret_em = small_fret_size;
    }
    plan.fret_half =
        plan.fret.empty() ? 0.0 : fret_width(task.fonts, plan.fret, plan.fret_em) / 2.0;

    const double ledger = needs_ledger(head.pitch) ? 0.3 : 0.0;
    plan.lead = -ledger;
    if (head.show_accidental) {
        plan.accidental = -accidental_gap - ledger / 2.0 -
                          width_of(task.fonts, accidental_glyph(head.pitch.alter));
        plan.lead = *plan.accidental;
    }
    plan.left = -plan.lead;
    plan.after = plan.head + ledger;
    if (event.shape.dots > 0) {
        plan.dots = plan.head + 0.35;
        plan.after = plan.dots + 0.7 * event.shape.dots - 0.2;
    }
    plan_tab(task, head, plan);
    plan_graces(task, head, plan);

    plan.right = std::max(plan.after, plan.tab_after);
    if (event.shape.denominator >= 8 && head.beams.empty())
        plan.right = std::max(plan.right, plan.head + 0.75);
    if (sign_of<FallSign>(head) != nullptr)
        plan.right = std::max(plan.right, std::max(plan.after, plan.tab_after) + 1.5);
    if (sign_of<WavyLineSign>(head) != nullptr) plan.right = std::max(plan.right, 2.5);
    if (sign_of<TrillSign>(head) != nullptr) plan.right = std::max(plan.right, 2.6);
    if (sign_of<SlideToNextSign>(head) != nullptr) plan.clear = least_line + 2.0 * line_gap;
    if (head.tied_to_next) plan.clear = std::max(plan.clear, 1.0);
    return plan;
}

std::vector<std::vector<EventPlan>> plan_events(const Task& task) {
    std::vector<std::vector<EventPlan>> plans(task.score.measures.size());
    for (std::size_t m = 0; m < plans.size(); ++m) {
        for (std::size_t e = 0; e < task.score.measures[m].events.size(); ++e)
            plans[m].push_back(plan_event(task, m, e, false));
    }
    return plans;
}

Glyph head_glyph(int denominator) {
    return denominator <= 1   ? Glyph::head_whole
           : denominator == 2 ? Glyph::head_half
                              : Glyph::head_black;
}

Glyph rest_glyph(int denominator) {
    switch (denominator) {
        case 1:
            return Glyph::rest_whole;
        case 2:
            return Glyph::rest_half;
        case 4:
            return Glyph::rest_quarter;
        case 8:
            return Glyph::rest_8;
        case 16:
            return Glyph::rest_16;
        case 32:
            return Glyph::rest_32;
        case 64:
            return Glyph::rest_64;
        default:
            return Glyph::rest_128;
    }
}

Glyph accidental_glyph(int alter) {
    switch (alter) {
        case -2:
            return Glyph::double_flat;
        case -1:
            return Glyph::flat;
        case 1:
            return Glyph::sharp;
        case 2:
            return Glyph::double_sharp;
        default:
            return Glyph::natural;
    }
}

double grace_flag_width(const Fonts& fonts) {
    return fonts[Glyph::flag_up_8].box.right * grace_scale - grace_stem_inset;
}

bool slides_under_flag(const Head& head) {
    return head.graces.size() == 1 && sign_of<SlideInSign>(head) != nullptr &&
           staff_height(head.graces.front().pitch) > staff_height(head.pitch) + 0.3;
}

double staff_height(const SpelledPitch& pitch) {
    // Written an octave above the sound, the middle line is B3 as it sounds.
    constexpr int steps_of_letter[] = {5, 6, 0, 1, 2, 3, 4};  // A B C … from C
    const int steps = pitch.octave * 7 + steps_of_letter[pitch.step - 'A'];
    constexpr int middle = 3 * 7 + 6;
    return (middle - steps) * 0.5;
}

std::string bend_figure(double semitones) {
    const int quarters = std::max(1, static_cast<int>(std::lround(semitones * 2.0)));
    const int tones = quarters / 4;
    static constexpr const char* parts[] = {"", "¼", "½", "¾"};
    const std::string part = parts[quarters % 4];
    if (quarters == 4) return "full";
    return tones == 0 ? part : std::to_string(tones) + part;
}

double fret_width(const Fonts& fonts, const std::string& fret, double size) {
    return text_width(fonts, {fret, Face::figures, size, {}});
}

}  // namespace bentline::engraving
