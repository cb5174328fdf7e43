// Bars are filled with passages of one kind of rhythm each, a few beats long, as solos are.
#include "tests/score/performance.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "tests/support/dice.h"

namespace bentline::testing {
namespace {

// Lengths in ticks; negative: a rest.
using Cell = std::vector<int>;
using Cells = std::vector<Cell>;

const Cells swing_cells = {
    {240, 240},      {240, 240},           {240, 240, 240, 240}, {480}, {480},  {720, 240},
    {240, 480, 240}, {-240, 240},          {240, -240},          {960}, {-480}, {240, 720},
    {480, 240, 240}, {-240, 240, 240, 240}};
const Cells triplet_cells = {{160, 160, 160}, {160, 160, 160}, {160, 160, 160}, {-160, 160, 160}};
const Cells sixteenth_cells = {{120, 120, 120, 120}, {120, 120, 120, 120}, {120, 120, 240},
                               {240, 120, 120},      {120, 120, 120, 120}, {-120, 120, 120, 120}};
const Cells sextuplet_cells = {{80, 80, 80, 80, 80, 80}, {80, 80, 80, 240}};
const Cells compound_cells = {{240, 240, 240},
                              {480, 240},
                              {720},
                              {240, 480},
                              {120, 120, 240, 240},
                              {240, 240, 240},
                              {-240, 240, 240},
                              {240, 120, 120, 120, 120}};

const Cells& cells_of(int kind) {
    switch (kind) {
        case 0:
            return swing_cells;
        case 1:
            return triplet_cells;
        case 2:
            return sixteenth_cells;
        case 3:
            return sextuplet_cells;
        default:
            return compound_cells;
    }
}

struct Row {
    int start = 0;
    int length = 0;
    bool swings = false;
};

int pick_kind(const PerformanceSettings& s, Dice& dice) {
    const double x = dice.unit();
    if (s.metre.compound()) return 4;
    if (s.triplets && x < 0.2) return 1;
    if (s.sixteenths && x < 0.38) return 2;
    return s.sextuplets && x < 0.44 ? 3 : 0;
}

std::vector<Row> compose(const PerformanceSettings& s, Dice& dice) {
    const int pulse = s.metre.compound() ? 720 : 480;
    const int end = s.bars * 4 * 480 * s.metre.count / s.metre.unit;
    std::vector<Row> rows;
    int at = 0;
    while (at < end) {
        const int kind = pick_kind(s, dice);
        if (kind == 1 && s.metre == Metre{4, 4} && at % 960 == 0 && dice.chance(0.3)) {
            for (int i = 0; i < 3; ++i)
                rows.push_back({at + 320 * i, 320, false});
            at += 960;
            continue;
        }
        const int until = std::min(end, at + pulse * (1 + dice.whole(0, kind == 0 ? 7 : 2)));
        while (at < until) {
            const Cells& cells = cells_of(kind);
            const Cell& cell =
                cells[static_cast<std::size_t>(dice.whole(0, static_cast<int>(cells.size()) - 1))];
            for (const int length : cell) {
                if (at + std::abs(length) > end) {
                    at = end;
                    break;
                }
                if (length > 0) rows.push_back({at, length, kind == 0});
                at += std::abs(length);
            }
            if (at % pulse != 0) at = std::min(end, (at / pulse + 1) * pulse);
        }
        // An anticipation: the last eighth is held over into what follows.
        if (kind != 0 || rows.empty() || at + pulse >= end) continue;
        Row& last = rows.back();
        if (last.start % pulse == pulse / 2 && last.start + last.length == at &&
            dice.chance(0.25)) {
            last.length += pulse;
            at += pulse;
        }
    }
    return rows;
}

// Beats with a tempo that wanders, and written time to seconds on them.
struct Clock {
    Clock(const PerformanceSettings& s, Dice& dice)
        : pulse(s.metre.compound() ? 720 : 480),
          off_beat(s.metre.compound() ? 0.5 : s.swing / (1.0 + s.swing)) {
        const double phase = dice.between(0.0, 6.28);
        beats = s.beats;
        if (!beats.empty()) return;
        double t = 2.0;
        for (int b = 0; b <= s.bars * s.metre.beats_per_bar() + 8; ++b) {
            beats.push_back(Seconds(t));
            t += 60.0 / (s.tempo * (1.0 + s.drift * std::sin(0.21 * b + phase)));
        }
    }

    double at(int ticks, bool swings) const {
        const auto b = static_cast<std::size_t>(ticks / pulse);
        double within = static_cast<double>(ticks % pulse) / pulse;
        if (swings && pulse == 480) {
            within = within < 0.5 ? 2.0 * within * off_beat
                                  : off_beat + 2.0 * (within - 0.5) * (1.0 - off_beat);
        }
        return beats[b].value() + within * (beats[b + 1] - beats[b]).value();
    }

    int pulse;
    double off_beat;
    std::vector<Seconds> beats;
};

// Across the strings into a note at `onset`: 2 to 4 notes of 35 to 48 ms.
void sweep_into(Performance& p, const Row& row, double onset, int key, Dice& dice) {
    const int count = dice.whole(2, 4);
    const double step = dice.between(0.035, 0.048);
    const double first = onset - count * step;
    if (!p.played.empty() && p.played.back().onset.value() > first - 0.07) return;
    for (int g = 0; g < count; ++g) {
        Note n;
        n.onset = Seconds(first + g * step);
        n.offset = Seconds(first + (g + 1) * step - 0.003);
        n.key = MidiKey(key - 3 * (count - g));
        p.played.push_back(n);
        p.written.push_back({Ticks(row.start), Ticks(0)});
    }
}

}  // namespace

Performance perform(const PerformanceSettings& s) {
    Dice dice(s.seed * 1000003 + 17);
    const Clock clock(s, dice);
    const std::vector<Row> rows = compose(s, dice);
    Performance p{s, BarMap::from_beats(clock.beats, 0, s.metre).value(), {}, {}};
    int key = 67;
    for (std::size_t i = 0; i < rows.size(); ++i) {
        const Row& row = rows[i];
        const double wobble = s.loose ? dice.between(-0.025, 0.025)
                                      : std::clamp(0.012 * dice.normal(), -0.025, 0.025);
        const double onset = clock.at(row.start, row.swings) + s.late + wobble;
        const int end = row.start + row.length;
        const bool joined = i + 1 < rows.size() && rows[i + 1].start == end;
        const double end_time = clock.at(end, joined ? rows[i + 1].swings : row.swings) + s.late;
        const bool staccato = row.length >= 240 && dice.chance(0.08);
        if (s.sweeps && row.length >= 480 && dice.chance(0.07))
            sweep_into(p, row, onset, key, dice);
        Note n;
        n.onset = Seconds(onset);
        const double share = staccato ? dice.between(0.36, 0.52)
                             : joined ? dice.between(0.86, 1.0)
                                      : dice.between(0.78, 0.98);
        n.offset = Seconds(onset + std::max(0.03, (end_time - onset) * share));
        if (!dice.chance(0.2)) key = std::clamp(key + dice.whole(-4, 4), 52, 84);  // else repeated
        n.key = MidiKey(key);
        if (staccato) n.inflections.push_back({Staccato{}, 1.0, ""});
        p.played.push_back(n);
        p.written.push_back({Ticks(row.start), Ticks(row.length)});
    }
    for (std::size_t i = 0; i + 1 < p.played.size(); ++i) {
        Note& now = p.played[i];
        Note& next = p.played[i + 1];
        if (next.onset <= now.onset) next.onset = now.onset + Seconds(0.012);
        now.offset = std::min(now.offset, next.onset);
    }
    return p;
}

std::vector<PerformanceSettings> spread_of_performances(std::uint64_t seed, int count) {
    Dice dice(seed * 7919 + 3);
    std::vector<PerformanceSettings> all;
    for (int i = 0; i < count; ++i) {
        PerformanceSettings s;
        s.seed = seed * 1000 + static_cast<std::uint64_t>(i);
        s.tempo = 60.0 + 200.0 * (i + dice.unit()) / count;
        if (i % 7 == 3) s.metre = {3, 4};
        if (i % 9 == 5) s.metre = {12, 8};
        if (s.metre.compound()) s.tempo = std::min(s.tempo, 130.0);
        const double beat = 60.0 / s.tempo;
        s.swing = i % 6 == 0 ? 1.0 : std::min(dice.between(1.5, 3.0), beat / 0.075 - 1.0);
        s.drift = i % 3 == 0 ? 0.0 : dice.between(0.01, 0.08);
        s.late = i % 4 == 0 ? 0.0 : dice.between(-0.01, 0.04);
        s.loose = i % 2 == 1;
        s.triplets = beat / 3 >= 0.080;
        s.sixteenths = beat / 4 >= 0.075;
        s.sextuplets = beat / 6 >= 0.085;
        all.push_back(s);
    }
    return all;
}

}  // namespace bentline::testing
