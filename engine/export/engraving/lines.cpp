// Where lines break.
#include <algorithm>
#include <limits>

#include "engine/export/engraving/pages.h"

namespace bentline::engraving {

namespace {

constexpr double no_way = std::numeric_limits<double>::infinity();

// [measure] how many bars since its section began; a pickup has none.
std::vector<int> places_in_section(const Score& score) {
    std::vector<int> places;
    int place = 0;
    for (const Measure& measure : score.measures) {
        if (!measure.section.empty() || measure.number == 1) place = 0;
        places.push_back(measure.number < 1 ? -1 : place++);
    }
    return places;
}

// What it costs to begin a line at a measure, by where that lies in its section.
double cost_of_beginning(const std::vector<int>& places, std::size_t measure) {
    const int place = places[measure];
    if (measure == 0) return 0.0;
    if (place == 0) return 0.0;
    if (place < 0) return 8.0;
    return place % 4 == 0 ? 0.5 : place % 2 == 0 ? 3.0 : 6.0;
}

// What it costs that sections begin inside a line, behind its first bar or its pickup.
double cost_of_sections_inside(const Score& score, std::size_t first, std::size_t count) {
    const auto& measures = score.measures;
    const auto begins = [&](std::size_t m) {
        return m >= measures.size() || !measures[m].section.empty();
    };
    double cost = 0.0;
    for (std::size_t m = first + 1; m < first + count; ++m) {
        if (measures[m].section.empty() || measures[m - 1].number < 1) continue;
        cost += begins(m + 1) ? 8.0 : 60.0;  // one bar alone may share a line
    }
    return cost;
}

// A first bar before bar 1, a pickup, does not count among a line's bars.
int bars_of(const Score& score, std::size_t first, std::size_t count) {
    int bars = 0;
    for (std::size_t i = first; i < first + count; ++i)
        bars += i == 0 && score.measures[i].number < 1 ? 0 : 1;
    return bars;
}

// True for the last line of the score, and for one that a section ends before it is full.
bool may_stay_short(const Task& task, std::size_t first, std::size_t end) {
    const auto& measures = task.score.measures;
    if (end == measures.size()) return true;
    return !measures[end].section.empty() &&
           bars_of(task.score, first, end - first) < task.settings.bars_a_line;
}

}  // namespace

std::vector<LinePlace> break_lines(const Task& task, double width) {
    const Plans plans = plan_events(task);
    const std::size_t count = task.score.measures.size();
    const std::vector<int> places = places_in_section(task.score);
    std::vector<double> cost(count + 1, no_way);
    std::vector<std::size_t> from(count + 1, 0);
    cost[0] = 0.0;
    const Settings& settings = task.settings;
    for (std::size_t first = 0; first < count; ++first) {
        if (cost[first] == no_way) continue;
        for (std::size_t n = 1; first + n <= count; ++n) {
            if (bars_of(task.score, first, n) > settings.bars_a_line) break;
            const LinePlace line = place_line(task, plans, first, n, 0.0, width, 64.0);
            if (n > 1 && (!line.fits || line.share < settings.least_share)) break;
            if (!line.fits) return {};
            const bool last = may_stay_short(task, first, first + n);
            const double crowded = std::max(0.0, 0.95 - line.share);
            const double loose = last ? 0.0 : std::max(0.0, line.share - settings.most_share);
            const double here = cost[first] + 10.0 + 30.0 * crowded * crowded + 6.0 * loose +
                                cost_of_beginning(places, first) +
                                cost_of_sections_inside(task.score, first, n);
            if (here < cost[first + n]) {
                cost[first + n] = here;
                from[first + n] = first;
            }
        }
    }
    if (cost[count] == no_way) return {};
    std::vector<std::pair<std::size_t, std::size_t>> breaks;
    for (std::size_t end = count; end > 0; end = from[end])
        breaks.insert(breaks.begin(), {from[end], end});
    std::vector<LinePlace> lines;
    double shares = 0.0;
    for (std::size_t i = 0; i < breaks.size(); ++i) {
        const auto& [first, end] = breaks[i];
        const bool last = may_stay_short(task, first, end);
        // Such a line is not pulled apart: as wide as the others are on average, or full where it
        // nearly is.
        LinePlace line = place_line(task, plans, first, end - first, 0.0, width, 64.0);
        const double usual = lines.empty() ? 1.15
                                           : std::min(shares / static_cast<double>(lines.size()),
                                                      settings.most_share);
        if (last && line.share > usual * 1.25)
            line = place_line(task, plans, first, end - first, 0.0, width, usual);
        shares += line.share;
        lines.push_back(std::move(line));
    }
    return lines;
}

}  // namespace bentline::engraving
