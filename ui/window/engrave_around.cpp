// Engraving in time: heads are moved by little where they would touch, frets and arrows are made to
// fit.
#include "ui/window/engrave_around.h"

#include <algorithm>
#include <map>
#include <utility>

#include "engine/export/engraving/line.h"
#include "ui/window/page.h"
#include "ui/window/spread.h"

namespace bentline::window {

namespace {

// Heads stand just right of their time, so that none lies on a bar line.
constexpr double after_the_beat = 0.35;

engraving::TabPlan plan_of(const DraftFingering& fingering) {
    engraving::TabPlan plan;
    plan.strings = fingering.neck.strings();
    for (std::size_t i = 0; i < fingering.ids.size(); ++i) {
        const FingeredNote& note = fingering.fingering.notes[i];
        if (note.spot) plan.spots[fingering.ids[i]] = {note.spot->string, note.spot->fret};
    }
    return plan;
}

// When a tick of a measure is heard.
Seconds time_in(const BarMap& bars, const Measure& measure, Ticks at) {
    const double a_beat = measure.metre.quarters_per_beat() * static_cast<double>(quarter.value());
    const double beats = static_cast<double>((measure.skipped + at).value()) / a_beat;
    return bars.time_of(bars.beats_of({measure.number, Beats(0)}) + Beats(beats));
}

// Grace notes that would still lie on what stands before them are left out: a short line into the
// head says that it is slid into; the bench above shows the rest.
void leave_graces_out(Head& head) {
    const auto slides = [](const Sign& sign) { return std::holds_alternative<SlideInSign>(sign); };
    const auto slide = std::find_if(head.signs.begin(), head.signs.end(), slides);
    const bool from_above =
        !head.graces.empty() && head.graces.back().pitch.key().value() > head.pitch.key().value();
    if (slide != head.signs.end()) *slide = ScoopSign{from_above};
    head.graces.clear();
}

// What is placed already and may lie in the way of what comes: the right ends of the last head or
// rest, and of the last fret on each string.
struct Before {
    double staff = -1e9;
    std::map<int, double> strings;

    double free_for(const engraving::EventPlan& plan) const {
        double free = staff;
        const auto on = [&](const std::optional<engraving::TabSpot>& spot) {
            if (!spot) return;
            if (const auto at = strings.find(spot->string); at != strings.end())
                free = std::max(free, at->second);
        };
        on(plan.spot);
        for (const engraving::GracePlan& grace : plan.graces)
            on(grace.spot);
        return free;
    }
    double right() const {
        double end = staff;
        for (const auto& [string, at] : strings)
            end = std::max(end, at);
        return end;
    }
    void add(const engraving::EventPlan& plan, double x) {
        staff = x + plan.after;
        if (plan.spot && !plan.fret.empty())
            strings[plan.spot->string] = x + 0.5 * plan.head + plan.fret_half;
    }
};

// The least way from one event to the next, so that neither heads nor frets lie on each other.
double least_way(const engraving::EventPlan& a, const engraving::EventPlan& b) {
    double way = a.after - b.staff_left;
    const auto on_its_string = [&](const std::optional<engraving::TabSpot>& spot) {
        return spot && a.spot && spot->string == a.spot->string && !a.fret.empty();
    };
    const double fret_end = 0.5 * a.head + a.fret_half;
    if (on_its_string(b.spot) && !b.fret.empty())
        way = std::max(way, fret_end + b.fret_half - 0.5 * b.head);
    for (const engraving::GracePlan& grace : b.graces)
        if (on_its_string(grace.spot)) way = std::max(way, fret_end + b.left);
    return way;
}

// What the line before a bar takes, and its air.
double bar_line_takes(const Score& score, std::size_t measure) {
    return engraving::double_bar_line_before(score, measure) ? 1.0 : 0.55;
}

// How far a bar line stands before the time of its bar, so that it clears the accidental or the
// grace notes of a head on the first beat, as far as what comes before leaves it room.
double makes_way(const engraving::BarPlace& bar, const Measure& measure, const Before& before,
                 double takes) {
    if (measure.events.empty() || measure.events.front().start.value() > 0) return 0.0;
    constexpr double most = 8.0, air = 0.25;
    const double reach = bar.plans.front().left - (bar.events.front() - bar.left) + air;
    const double room = bar.left - before.right() - takes + air;
    return std::clamp(reach, 0.0, std::clamp(room, 0.0, most));
}

// The staff is in time with the bench: where heads are so close that they would touch, each makes
// way for its neighbours, by less than a head and a half.
constexpr double most_out_of_time = 1.6;
constexpr double between_events = 0.18;

std::vector<double> make_room(const engraving::BarPlace& bar, const std::vector<double>& times,
                              double from) {
    if (times.empty()) return {};
    const std::vector<engraving::EventPlan>& plans = bar.plans;
    Row row{times, {}, times.front(), times.back(), most_out_of_time};
    for (std::size_t i = 0; i + 1 < plans.size(); ++i)
        row.apart.push_back(least_way(plans[i], plans[i + 1]) + between_events);
    row.from = std::max(times.front(), from + plans.front().left);
    row.to = std::max(times.back(), bar.right - plans.back().after - between_events);
    return spread(row);
}

// Frets that touch their neighbour on the same string are set smaller, as those of grace notes are.
void fit_frets(const engraving::Fonts& fonts, engraving::BarPlace& bar) {
    const auto touches = [&](std::size_t i) {
        const engraving::EventPlan &a = bar.plans[i], &b = bar.plans[i + 1];
        if (!a.spot || !b.spot || a.fret.empty() || b.fret.empty()) return false;
        if (a.spot->string != b.spot->string) return false;
        const double right = bar.events[i] + 0.5 * a.head + a.fret_half;
        return right + 0.15 > bar.events[i + 1] + 0.5 * b.head - b.fret_half;
    };
    const auto smaller = [&](engraving::EventPlan& plan) {
        plan.fret_em = engraving::small_fret_size;
        plan.fret_half = 0.5 * engraving::fret_width(fonts, plan.fret, plan.fret_em);
    };
    for (std::size_t i = 0; i + 1 < bar.plans.size(); ++i) {
        if (!touches(i)) continue;
        smaller(bar.plans[i]);
        smaller(bar.plans[i + 1]);
    }
}

// A bend's arrow rises over what stands on the higher strings: where the next fret there, or on its
// own string, is close, the arrow goes up and down more steeply.
void fit_bends(const Score& score, std::vector<engraving::BarPlace>& bars) {
    constexpr double air = 0.2, half_head = 0.35, steepest = 0.4;
    struct Placed {
        engraving::EventPlan* plan;
        const Head* head;
        double x;
    };
    std::vector<Placed> all;
    for (engraving::BarPlace& bar : bars) {
        const Measure& measure = score.measures[bar.measure];
        for (std::size_t e = 0; e < bar.plans.size(); ++e) {
            if (measure.events[e].head)
                all.push_back({&bar.plans[e], &*measure.events[e].head, bar.events[e]});
        }
    }
    for (std::size_t i = 0; i < all.size(); ++i) {
        engraving::EventPlan& plan = *all[i].plan;
        const auto* bend = engraving::sign_of<BendSign>(*all[i].head);
        if (bend == nullptr || bend->prebend || !plan.spot || plan.fret.empty()) continue;
        const double start = all[i].x + 0.5 * plan.head + plan.fret_half + 0.1;
        const double ways = bend->release ? 2 : 1;
        double end = start + ways * engraving::bend_reach + half_head + air;
        const auto in_the_way = [&](const std::optional<engraving::TabSpot>& spot, double left) {
            if (spot && spot->string <= plan.spot->string && left > start)
                end = std::min(end, left);
        };
        for (std::size_t j = i + 1; j < all.size() && all[j].x - all[j].plan->left < end; ++j) {
            const engraving::EventPlan& next = *all[j].plan;
            if (!next.fret.empty())
                in_the_way(next.spot, all[j].x + 0.5 * next.head - next.fret_half);
            for (const engraving::GracePlan& grace : next.graces)
                in_the_way(grace.spot, all[j].x + grace.x);
        }
        const double way =
            std::clamp((end - air - half_head - start) / ways, steepest, engraving::bend_reach);
        plan.tab_after -= ways * (plan.bend_way - way);
        plan.bend_way = way;
    }
}

}  // namespace

ManuscriptLine engrave_around(Score score, const DraftFingering& fingering, const BarMap& bars,
                              const engraving::Fonts& fonts, SecondsRange around,
                              double spaces_a_second) {
    ManuscriptLine made;
    made.spaces_a_second = spaces_a_second;
    made.from = around.from;
    made.covers = around;
    made.strings = fingering.neck.strings();
    const engraving::TabPlan plan = plan_of(fingering);
    const engraving::Settings settings;
    const engraving::Task task{score, plan, fonts, settings};
    const auto x_of = [&](Seconds t) { return (t - made.from).value() * spaces_a_second; };
    engraving::LinePlace line;
    line.clef = false;
    Before before;
    for (std::size_t m = 0; m < score.measures.size(); ++m) {
        Measure& measure = score.measures[m];
        if (measure.to <= around.from || measure.from >= around.to) continue;
        engraving::BarPlace bar;
        bar.measure = m;
        bar.left = x_of(time_in(bars, measure, Ticks(0)));
        bar.right = x_of(time_in(bars, measure, measure.length));
        bar.music = bar.left;
        std::vector<double> times;
        for (std::size_t e = 0; e < measure.events.size(); ++e) {
            times.push_back(x_of(time_in(bars, measure, measure.events[e].start)) + after_the_beat);
            bar.plans.push_back(engraving::plan_event(task, m, e, false));
        }
        const double takes = bar_line_takes(score, m), from = before.right() + takes;
        bar.events = make_room(bar, times, from);
        // Grace notes go where even so there is no room for them.
        Before so_far = before;
        for (std::size_t e = 0; e < times.size(); ++e) {
            engraving::EventPlan& event = bar.plans[e];
            std::optional<Head>& head = measure.events[e].head;
            if (head && !head->graces.empty() &&
                bar.events[e] - event.left < (e == 0 ? from : so_far.free_for(event))) {
                leave_graces_out(*head);
                made.thinned = true;
                event = engraving::plan_event(task, m, e, false);
                bar.events = make_room(bar, times, from);
                // What came before stands elsewhere now.
                so_far = before;
                for (std::size_t i = 0; i < e; ++i)
                    so_far.add(bar.plans[i], bar.events[i]);
            }
            so_far.add(event, bar.events[e]);
        }
        fit_frets(fonts, bar);
        bar.left -= makes_way(bar, measure, before, takes);
        before = so_far;
        bar.music = bar.left;
        if (!line.bars.empty()) line.bars.back().right = bar.left;
        line.bars.push_back(std::move(bar));
    }
    if (line.bars.empty()) return made;
    fit_bends(score, line.bars);
    line.left = line.bars.front().left;
    line.right = line.bars.back().right;
    made.staff = engraving::engrave_staff(task, line).marks();
    for (const engraving::Mark& mark : made.staff) {
        if (!stands_elsewhere(mark)) made.above = std::max(made.above, 0.7 - mark.box.top);
    }
    made.tab = engraving::engrave_tab(task, line).marks();
    made.tab_down = std::max(5.4, engraving::distance(made.staff, made.tab, 0.4));
    return made;
}

}  // namespace bentline::window
