// Fits swing, lateness and places to the line, then decides where notes end.
#include "engine/score/quantise.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "engine/score/grid_path.h"
#include "engine/score/line_fit.h"
#include "engine/score/pulses.h"

namespace bentline {
namespace {

// Written time of a moment, given which grid its pulse took.
double warped_ticks(const std::vector<Pulse>& pulses, const LineFit& fit, Seconds time) {
    const double at = pulse_at(pulses, time - fit.late);
    const auto p = static_cast<std::size_t>(
        std::clamp(std::floor(at), 0.0, static_cast<double>(pulses.size() - 1)));
    double within = at - static_cast<double>(p);
    const PulseChoice& choice = fit.path.pulses[p];
    if (choice.grid == Grid::eighths && !pulses[p].compound && !choice.straight && within > 0.0 &&
        within < 1.0) {
        const double bend = fit.off_beats[p];
        within = within < bend ? 0.5 * within / bend : 0.5 + 0.5 * (within - bend) / (1.0 - bend);
    }
    return static_cast<double>(pulses[p].start.value()) +
           within * static_cast<double>(pulses[p].length.value());
}

double half_square(double z) {
    return 0.5 * z * z;
}

// How well a played length fits a written one. Notes of a line are held for most of their value, a
// staccato note for half or less; a long one is let go by less of its value than a short one
// (common practice, no source). Ticks.
double length_cost(double played, double written, double pulse, bool staccato) {
    const double share = played / written;
    if (staccato) return half_square((share - 0.45) / 0.15);
    if (share < 0.92)
        return half_square((0.92 * written - played) / (0.17 * std::min(written, 1.4 * pulse)));
    return half_square(std::max(0.0, share - 1.0) / 0.12);
}

// Candidates for a note's written end: the places of the grids between its start and the next note.
std::vector<Ticks> ends_between(const std::vector<Pulse>& pulses, Ticks from, Ticks to) {
    std::vector<Ticks> ends;
    auto p = std::upper_bound(pulses.begin(), pulses.end(), from,
                              [](Ticks t, const Pulse& x) { return t < x.start; });
    for (p = p == pulses.begin() ? p : p - 1; p != pulses.end() && p->start < to; ++p) {
        for (int k = 0; k < places_of(p->grid, p->compound); ++k) {
            const Ticks at = p->start + place_in_ticks(p->grid, *p, k);
            if (from < at && at < to) ends.push_back(at);
        }
    }
    ends.push_back(to);
    return ends;
}

// Rests where the grid has nothing struck are harder to read.
double rest_cost(const std::vector<Pulse>& pulses, Ticks from, bool staccato) {
    const auto p = std::upper_bound(pulses.begin(), pulses.end(), from,
                                    [](Ticks t, const Pulse& x) { return t < x.start; }) -
                   1;
    if (p->start == from) return staccato ? 0.3 : 0.9;
    if (p->grid == Grid::eighths) return staccato ? 0.6 : 1.2;
    return 2.0;
}

void find_lengths(const std::vector<Note>& notes, const LineFit& fit, QuantisedLine& line) {
    // A gap shorter than this is articulation, never a rest.
    constexpr Seconds no_rest{0.05};
    const Ticks end = line.pulses.back().start + line.pulses.back().length;
    for (std::size_t i = 0; i < notes.size(); ++i) {
        if (line.notes[i].grace()) continue;
        std::size_t next = i + 1;
        while (next < notes.size() && line.notes[next].grace())
            ++next;
        const Ticks from = line.notes[i].start;
        const bool last = next >= notes.size();
        const Ticks to = last ? end : line.notes[next].start;
        if (!last && notes[i + 1].onset - notes[i].offset < no_rest) {
            line.notes[i].length = to - from;
            continue;
        }
        const bool staccato = find<Staccato>(notes[i]) != nullptr;
        const double pulse = static_cast<double>(line.pulses.front().length.value());
        const double played = std::max(1.0, warped_ticks(line.pulses, fit, notes[i].offset) -
                                                static_cast<double>(from.value()));
        double best = std::numeric_limits<double>::infinity();
        for (const Ticks at : ends_between(line.pulses, from, to)) {
            double cost =
                length_cost(played, static_cast<double>((at - from).value()), pulse, staccato);
            if (at < to) cost += rest_cost(line.pulses, at, staccato);
            if (cost < best) {
                best = cost;
                line.notes[i].length = at - from;
            }
        }
    }
}

// Bars without a note at the ends go, as far as bar 1 and last_bar allow.
void drop_empty_ends(QuantisedLine& line, int last_bar) {
    Ticks first = line.notes.front().start;
    Ticks last(0);
    for (const WrittenNote& n : line.notes)
        last = std::max(last, n.start + n.length);
    auto& pulses = line.pulses;
    while (pulses.size() > 1 && pulses.front().bar < 1) {
        const auto next = std::find_if(pulses.begin(), pulses.end(),
                                       [&](const Pulse& p) { return p.bar != pulses.front().bar; });
        if (next == pulses.end() || next->start > first) break;
        pulses.erase(pulses.begin(), next);
    }
    while (pulses.back().bar > last_bar) {
        const int bar = pulses.back().bar;
        const auto start = std::find_if(pulses.begin(), pulses.end(),
                                        [&](const Pulse& p) { return p.bar == bar; });
        if (start == pulses.begin() || start->start < last) break;
        pulses.erase(start, pulses.end());
    }
}

}  // namespace

QuantisedLine quantise(const std::vector<Note>& notes, const BarMap& bars, int last_bar,
                       const QuantiseSettings& settings) {
    QuantisedLine line;
    if (notes.empty()) {
        line.pulses = pulses_of_bars(bars, 1, std::max(1, last_bar));
        line.swings = {SwingFrom{}};
        return line;
    }
    // Half a beat to spare: a note just before a bar line may belong behind it, or the other way
    // round.
    const int first = bars.position_of(bars.beats_at(notes.front().onset) - Beats(0.5)).bar;
    const int last = bars.position_of(bars.beats_at(notes.back().onset) + Beats(1.0)).bar;
    line.pulses = pulses_of_bars(bars, std::min(1, first), std::max({1, last_bar, last}));

    const LineFit fit = fit_line(notes, line.pulses, settings);
    line.late = fit.late;
    line.cost = fit.path.cost;
    line.notes.resize(notes.size());
    bool swung = false;
    for (std::size_t p = 0; p < line.pulses.size(); ++p) {
        const PulseChoice& choice = fit.path.pulses[p];
        line.pulses[p].grid = choice.grid;
        for (std::size_t n = choice.first; n < choice.last; ++n) {
            const int place = choice.place[n - choice.first];
            if (place < 0) continue;
            line.notes[n] = {
                line.pulses[p].start + place_in_ticks(choice.grid, line.pulses[p], place),
                Ticks(1)};
            swung =
                swung || (choice.grid == Grid::eighths && !line.pulses[p].compound && place == 1);
        }
    }
    // A grace note stands where its note does; the last note is never one.
    for (std::size_t n = notes.size() - 1; n-- > 0;) {
        if (line.notes[n].grace()) line.notes[n].start = line.notes[n + 1].start;
    }
    line.swings = swing_changes(line.pulses, fit, swung);
    line.swing = swung ? swing_ratio(fit.off_beat) : 1.0;
    find_lengths(notes, fit, line);
    drop_empty_ends(line, std::max(1, last_bar));
    line.swings.front().bar = line.pulses.front().bar;
    return line;
}

}  // namespace bentline
