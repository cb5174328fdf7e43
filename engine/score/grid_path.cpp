// Dynamic programming over pulses: state = (notes already placed, grid of the pulse before).
#include "engine/score/grid_path.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cassert>
#include <cmath>

#include "engine/score/grid_cost.h"

namespace bentline {
namespace {

constexpr double never = no_pattern;

// 1.2 is the price of a grace note at 35 ms before its note, rising steeply towards settings.grace.
// A slower one is bought only where the grids have no place left.
double grace_cost(const Stroke& s, const QuantiseSettings& settings) {
    constexpr double last_resort = 40.0;
    if (s.to_next > 1.35 * settings.grace) return last_resort;
    const double over =
        std::max(0.0, s.to_next.value() - 0.035) / (0.5 * (settings.grace.value() - 0.032));
    return 1.2 + 0.5 * over * over;
}

class Search {
  public:
    Search(const std::vector<Pulse>& pulses, const std::vector<Stroke>& strokes,
           const std::vector<double>& off_beats, const QuantiseSettings& settings, bool quick)
        : pulses_(pulses),
          strokes_(strokes),
          off_beats_(off_beats),
          settings_(settings),
          quick_(quick) {
        graces_.reserve(strokes.size());
        for (const Stroke& s : strokes)
            graces_.push_back(grace_cost(s, settings));
        find_sweeps();
        if (!graces_.empty()) graces_.back() = never;  // a grace note needs a note after it
    }

    GridPath run();

  private:
    struct Arrival {
        double cost = std::numeric_limits<double>::infinity();
        std::size_t from = 0;  // notes placed before this pulse
        int state_before = 0;
    };

    // Notes that follow each other at a sweep's pace go together: all small, none with a place.
    void find_sweeps();
    // Before pulse p, at least low and at most high notes are placed.
    void find_bounds();
    bool allowed(int state, std::size_t pulse, std::size_t notes) const;
    // Whether a pair of beats that belong together begins here: never across the middle of a bar.
    bool pair_begins(std::size_t pulse) const;
    double off_beat_of(std::size_t pulse, int state) const {
        return state == straight ? 0.5 : off_beats_[pulse];
    }
    double deviation(std::size_t note, std::size_t pulse, int state, int place) const;
    double fast_cost(const Pulse& pulse, int state) const;
    // Cheapest places of notes [first, last) on a grid of a pulse. Fills `places` if asked.
    double place_notes(std::size_t pulse, int state, std::size_t first, std::size_t last,
                       std::vector<int>* places) const;

    const std::vector<Pulse>& pulses_;
    const std::vector<Stroke>& strokes_;
    const std::vector<double>& off_beats_;
    const QuantiseSettings& settings_;
    const bool quick_;
    std::vector<double> graces_;  // cost of each note as a grace note
    std::vector<double> sweeps_;  // cost of a place, for each note
    std::vector<std::size_t> low_, high_;
};

void Search::find_sweeps() {
    const Seconds pace = 0.95 * settings_.grace;
    sweeps_.assign(strokes_.size(), 0.0);
    for (std::size_t i = 0; i + 1 < strokes_.size(); ++i) {
        const bool runs_on = strokes_[i].to_next < pace && strokes_[i + 1].to_next < pace;
        const bool runs_in = i > 0 && strokes_[i - 1].to_next < pace && strokes_[i].to_next < pace;
        if (!runs_on && !runs_in) continue;
        graces_[i] = std::min(graces_[i], 0.4);
        sweeps_[i] = 2.0;
    }
}

void Search::find_bounds() {
    const std::size_t n = strokes_.size();
    low_.assign(pulses_.size() + 1, 0);
    high_.assign(pulses_.size() + 1, n);
    std::size_t low = 0;
    std::size_t high = 0;
    for (std::size_t p = 0; p < pulses_.size(); ++p) {
        const double at = static_cast<double>(p);
        while (low < n && strokes_[low].at + strokes_[low].leeway < at - 0.4)
            ++low;
        while (high < n && strokes_[high].at < at + 0.12)
            ++high;
        low_[p] = p == 0 ? 0 : low;  // nothing lies before the first pulse
        high_[p] = p == 0 ? 0 : high;
    }
    low_.back() = n;
}

bool Search::allowed(int state, std::size_t at, std::size_t notes) const {
    const Pulse& pulse = pulses_[at];
    const bool compound = pulse.compound;
    if (state == swung) return true;
    if (notes == 0) return false;
    if (state == straight) return !compound && off_beats_[at] > 0.53;
    if (state == triplets) return !compound;
    if (state == quarter_triplets) return notes >= 2;
    if (state == sextuplets) return !compound && !quick_ && notes >= 3;
    if (state == thirty_seconds) {
        return !compound && !quick_ && notes >= 4 && pulse.length == quarter;
    }
    return true;
}

bool Search::pair_begins(std::size_t pulse) const {
    const Pulse& p = pulses_[pulse];
    if (quick_ || p.compound || p.length != quarter || pulse + 1 >= pulses_.size()) return false;
    std::size_t before = 0;
    while (before < pulse && pulses_[pulse - before - 1].bar == p.bar)
        ++before;
    return before % 2 == 0 && pulses_[pulse + 1].bar == p.bar;
}

double Search::deviation(std::size_t note, std::size_t pulse, int state, int place) const {
    const Pulse& p = pulses_[pulse];
    const Grid grid = grid_of[static_cast<std::size_t>(state)];
    const double meant = static_cast<double>(pulse) +
                         place_in_pulse(grid, p.compound, off_beat_of(pulse, state), place);
    const Stroke& s = strokes_[note];
    const double late = s.at - meant;
    const double off = late > 0.0 ? late : std::min(0.0, late + s.leeway);
    const double pulse_s = (p.to - p.from).value();
    double spread = settings_.spread.value();
    if (grid == Grid::eighths && place == 1 && !p.compound) {
        spread = std::hypot(spread, settings_.swing_spread * pulse_s);
    }
    return rounded_square(std::abs(off) * pulse_s / spread);
}

double Search::fast_cost(const Pulse& pulse, int state) const {
    if (state <= straight || state == quarter_triplets) return 0.0;
    const double step = (pulse.to - pulse.from).value() /
                        places_of(grid_of[static_cast<std::size_t>(state)], pulse.compound);
    return 2.5 * std::max(0.0, settings_.fast_step.value() / step - 1.0);
}

double Search::place_notes(std::size_t pulse, int state, std::size_t first, std::size_t last,
                           std::vector<int>* places) const {
    const bool compound = pulses_[pulse].compound;
    const int count = places_of(grid_of[static_cast<std::size_t>(state)], compound);
    const unsigned masks = 1U << count;
    std::array<double, 256> cost{};
    cost.fill(never);
    cost[0] = 0.0;
    std::vector<std::array<std::int16_t, 256>> choices(places ? last - first : 0);
    for (std::size_t n = first; n < last; ++n) {
        std::array<double, 8> off{};
        for (int k = 0; k < count; ++k)
            off[static_cast<std::size_t>(k)] = sweeps_[n] + deviation(n, pulse, state, k);
        for (unsigned mask = masks;
             mask-- > 0;) {  // downwards: cost[smaller mask] is still the old one
            double best = cost[mask] + graces_[n];
            int choice = -1;
            if (mask != 0) {
                const int top = static_cast<int>(std::bit_width(mask)) - 1;
                const double placed = cost[mask ^ (1U << top)] + off[static_cast<std::size_t>(top)];
                if (placed < best) {
                    best = placed;
                    choice = top;
                }
            }
            cost[mask] = std::min(best, never);
            if (places) choices[n - first][mask] = static_cast<std::int16_t>(choice);
        }
    }
    double best = never;
    unsigned best_mask = 0;
    for (unsigned mask = 0; mask < masks; ++mask) {
        if (cost[mask] >= never) continue;
        const double total =
            cost[mask] + pattern_cost(static_cast<GridState>(state), compound, mask);
        if (total < best) {
            best = total;
            best_mask = mask;
        }
    }
    if (places) {
        places->assign(last - first, -1);
        for (std::size_t n = last; n-- > first;) {
            const int choice = choices[n - first][best_mask];
            (*places)[n - first] = choice;
            if (choice >= 0) best_mask ^= 1U << choice;
        }
    }
    return best;
}

GridPath Search::run() {
    find_bounds();
    const std::size_t pulse_count = pulses_.size();
    std::vector<std::vector<std::array<Arrival, state_count>>> table(pulse_count + 1);
    for (std::size_t p = 0; p <= pulse_count; ++p)
        table[p].resize(high_[p] - low_[p] + 1);
    table[0][0][swung].cost = 0.0;
    for (std::size_t p = 0; p < pulse_count; ++p) {
        for (std::size_t i = low_[p]; i <= high_[p]; ++i) {
            const auto& here = table[p][i - low_[p]];
            if (std::none_of(here.begin(), here.end(),
                             [](const Arrival& a) { return a.cost < never; }))
                continue;
            for (int state = 0; state < state_count; ++state) {
                const std::size_t next = p + (state == quarter_triplets ? 2 : 1);
                if (state == quarter_triplets && !pair_begins(p)) continue;
                for (std::size_t j = std::max(i, low_[next]); j <= high_[next]; ++j) {
                    if (!allowed(state, p, j - i)) continue;
                    const double own =
                        place_notes(p, state, i, j, nullptr) + fast_cost(pulses_[p], state);
                    if (own >= never) continue;
                    Arrival& there = table[next][j - low_[next]][static_cast<std::size_t>(state)];
                    for (int before = 0; before < state_count; ++before) {
                        const double total = here[static_cast<std::size_t>(before)].cost +
                                             change_cost(before, state) + own;
                        if (total < there.cost) there = {total, i, before};
                    }
                }
            }
        }
    }
    GridPath path;
    int state = 0;
    const auto& ends = table[pulse_count][strokes_.size() - low_[pulse_count]];
    for (int s = 0; s < state_count; ++s) {
        if (ends[static_cast<std::size_t>(s)].cost < path.cost) {
            path.cost = ends[static_cast<std::size_t>(s)].cost;
            state = s;
        }
    }
    assert(std::isfinite(path.cost));  // a pulse can always hold its notes, as grace notes at worst
    path.pulses.resize(pulse_count);
    std::size_t last = strokes_.size();
    for (std::size_t p = pulse_count; p > 0;) {
        const Arrival& arrival = table[p][last - low_[p]][static_cast<std::size_t>(state)];
        if (state == quarter_triplets) {  // the second beat of the pair holds no places of its own
            path.pulses[--p] = {Grid::second_of_pair, false, last, last, {}};
        }
        PulseChoice& choice = path.pulses[--p];
        choice.grid = grid_of[static_cast<std::size_t>(state)];
        choice.straight = state == straight;
        choice.first = arrival.from;
        choice.last = last;
        place_notes(p, state, arrival.from, last, &choice.place);
        last = arrival.from;
        state = arrival.state_before;
    }
    return path;
}

}  // namespace

int places_of(Grid grid, bool compound) {
    switch (grid) {
        case Grid::eighths:
            return compound ? 3 : 2;
        case Grid::triplets:
            return 3;
        case Grid::sixteenths:
            return compound ? 6 : 4;
        case Grid::sextuplets:
            return 6;
        case Grid::quarter_triplets:
            return 3;
        case Grid::second_of_pair:
            return 0;
        default:
            return 8;
    }
}

double place_in_pulse(Grid grid, bool compound, double off_beat, int index) {
    if (grid == Grid::eighths && !compound) return index == 0 ? 0.0 : off_beat;
    if (grid == Grid::quarter_triplets) return 2.0 * index / 3.0;
    return static_cast<double>(index) / places_of(grid, compound);
}

Ticks place_in_ticks(Grid grid, const Pulse& pulse, int index) {
    if (grid == Grid::quarter_triplets) return Ticks(2 * pulse.length.value() * index / 3);
    return Ticks(pulse.length.value() * index / places_of(grid, pulse.compound));
}

GridPath cheapest_path(const std::vector<Pulse>& pulses, const std::vector<Stroke>& strokes,
                       const std::vector<double>& off_beats, const QuantiseSettings& settings,
                       bool quick) {
    assert(off_beats.size() == pulses.size());
    return Search(pulses, strokes, off_beats, settings, quick).run();
}

}  // namespace bentline
