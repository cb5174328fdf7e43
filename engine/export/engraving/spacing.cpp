// Springs and rods.
#include "engine/export/engraving/spacing.h"

#include <algorithm>
#include <cmath>

namespace bentline::engraving {

namespace {

constexpr double after_bar_line = 1.25;  // to the first head, if nothing stands before it
constexpr double least_after_bar_line = 0.7;
constexpr double before_bar_line = 0.7;
constexpr double between_chords = 0.9;
constexpr double before_change = 0.6;  // from a bar line to a key or metre

struct Gap {
    double rod = 0.0;
    double spring = 0.0;
    double at(double share) const { return std::max(rod, spring * share); }
};

double total(const std::vector<Gap>& gaps, double share) {
    double sum = 0.0;
    for (const Gap& gap : gaps)
        sum += gap.at(share);
    return sum;
}

// The share at which the gaps fill the width; 0 where the rods alone are wider.
double fill(const std::vector<Gap>& gaps, double width) {
    double low = 0.0, high = 64.0;
    if (total(gaps, low) >= width) return 0.0;
    for (int i = 0; i < 60; ++i) {
        const double middle = (low + high) / 2.0;
        (total(gaps, middle) > width ? high : low) = middle;
    }
    return low;
}

// How far the bar line after a measure reaches back into it.
double bar_line_width(const Score& score, std::size_t measure) {
    if (measure + 1 == score.measures.size()) return 1.0;
    return double_bar_line_before(score, measure + 1) ? 0.55 : 0.1;
}

// What a changed key and metre need at a bar line; 0 where nothing changes.
double change_width(const Task& task, std::size_t measure) {
    const Score& score = task.score;
    double width = 0.0;
    if (changes_key(score, measure)) {
        width += key_change_width(task.fonts, key_at(score, measure - 1).fifths,
                                  key_at(score, measure).fifths);
    }
    if (measure > 0 && shows_metre(score, measure))
        width += metre_width(task.fonts, score.measures[measure].metre);
    return width > 0.0 ? before_change + width : 0.0;
}

// The room behind the last bar line of a line.
double announcement_width(const Task& task, const LinePlace& line) {
    if (line.bars.empty()) return 0.0;
    const std::size_t next = line.bars.back().measure + 1;
    return next < task.score.measures.size() ? change_width(task, next) : 0.0;
}

std::vector<Gap> gaps_of(const Task& task, const LinePlace& line) {
    std::vector<Gap> gaps;
    for (const BarPlace& bar : line.bars) {
        const Measure& measure = task.score.measures[bar.measure];
        const std::size_t count = bar.plans.size();
        const double before = count == 0 ? 0.0 : bar.plans[0].left;
        const double room =
            std::max(after_bar_line, before + least_after_bar_line + (bar.music > 0.0 ? 0.2 : 0.0));
        gaps.push_back({bar.music + room, 0.0});
        for (std::size_t e = 0; e < count; ++e) {
            const Event& event = measure.events[e];
            const EventPlan& plan = bar.plans[e];
            const bool last = e + 1 == count;
            const double ahead =
                last ? bar_line_width(task.score, bar.measure) : bar.plans[e + 1].left;
            double spring = natural_gap(event.length, task.settings);
            if (event.whole_measure) spring = 2.2 * natural_gap(quarter, task.settings);
            gaps.push_back(
                {plan.right + std::max(plan.clear, last ? before_bar_line : 0.0) + ahead, spring});
        }
        if (count == 0) gaps.push_back({6.0, 2.0 * natural_gap(quarter, task.settings)});
    }
    if (const double behind = announcement_width(task, line); behind > 0.0)
        gaps.push_back({behind, 0.0});
    return gaps;
}

void set_places(LinePlace& line, const std::vector<Gap>& gaps) {
    double x = line.left;
    std::size_t gap = 0;
    for (BarPlace& bar : line.bars) {
        bar.left = x;
        x += gaps[gap++].at(line.share);
        bar.events.clear();
        for (std::size_t e = 0; e < bar.plans.size(); ++e) {
            bar.events.push_back(x);
            x += gaps[gap++].at(line.share);
        }
        if (bar.plans.empty()) x += gaps[gap++].at(line.share);
        bar.right = x;
    }
    if (gap < gaps.size()) x += gaps[gap].at(line.share);
    line.right = x;
}

struct PlacedChord {
    std::size_t gap;  // the gap in which it begins
    double x;
    double width;
};

std::vector<PlacedChord> chords_of(const Task& task, const LinePlace& line) {
    std::vector<PlacedChord> chords;
    std::size_t gap = 0;
    for (const BarPlace& bar : line.bars) {
        const Measure& measure = task.score.measures[bar.measure];
        for (const ChordSymbol& chord : measure.chords) {
            const double x = x_at(bar, measure, chord.at);
            std::size_t inside = 0;
            while (inside < bar.events.size() && bar.events[inside] <= x + 1e-9)
                ++inside;
            const TextShape text{printed_chord(chord.text), Face::text, chord_size, {}};
            chords.push_back({gap + inside, x, text_width(task.fonts, text)});
        }
        gap += std::max<std::size_t>(bar.events.size(), 1) + 1;
    }
    return chords;
}

// Widens the rods under chord symbols that would run into the next one; true if any had to be.
bool make_room(const std::vector<PlacedChord>& chords, const LinePlace& line,
               std::vector<Gap>& gaps) {
    bool changed = false;
    const std::size_t gaps_before_end = gaps.size() - (line.right > line.music_end() ? 1 : 0);
    for (std::size_t i = 0; i < chords.size(); ++i) {
        const bool last = i + 1 == chords.size();
        const double end = last ? line.music_end() : chords[i + 1].x;
        const double missing =
            chords[i].width + (last ? 0.1 : between_chords) - (end - chords[i].x);
        if (missing <= 1e-6) continue;
        const std::size_t to =
            last ? gaps_before_end - 1 : std::max(chords[i + 1].gap, chords[i].gap + 1) - 1;
        const double share = missing / static_cast<double>(to - chords[i].gap + 1);
        for (std::size_t g = chords[i].gap; g <= to; ++g)
            gaps[g].rod = gaps[g].at(line.share) + share * 1.02;
        changed = true;
    }
    return changed;
}

}  // namespace

double natural_gap(Ticks length, const Settings& settings) {
    const double eighths = std::max(length / quarter, 1.0 / 64.0) * 2.0;
    return settings.eighth * std::pow(settings.growth, std::log2(eighths));
}

bool shows_metre(const Score& score, std::size_t measure) {
    return measure == 0 || !(score.measures[measure].metre == score.measures[measure - 1].metre);
}

bool changes_key(const Score& score, std::size_t measure) {
    return measure > 0 && key_at(score, measure).fifths != key_at(score, measure - 1).fifths;
}

bool double_bar_line_before(const Score& score, std::size_t measure) {
    return !score.measures[measure].section.empty() || changes_key(score, measure);
}

double clef_width(const Fonts& fonts) {
    return 0.7 + fonts[Glyph::clef_g].box.right + 0.7;
}

double key_width(const Fonts& fonts, int fifths) {
    if (fifths == 0) return 0.0;
    const double one = fonts[fifths > 0 ? Glyph::sharp : Glyph::flat].box.width() + 0.12;
    return std::abs(fifths) * one + 0.6;
}

double key_change_width(const Fonts& fonts, int before, int fifths) {
    if (fifths != 0) return key_width(fonts, fifths);
    return std::abs(before) * (fonts[Glyph::natural].box.width() + 0.12) + 0.6;
}

double metre_width(const Fonts& fonts, const Metre& metre) {
    const auto width = [&](int number) {
        double sum = 0.0;
        for (const char c : std::to_string(number))
            sum += fonts[static_cast<Glyph>(static_cast<int>(Glyph::digit_0) + (c - '0'))].advance;
        return sum;
    };
    return std::max(width(metre.count), width(metre.unit)) + 0.5;
}

LinePlace place_line(const Task& task, const Plans& plans, std::size_t first, std::size_t count,
                     double left, double width, double most_share) {
    LinePlace line;
    line.left = left;
    for (std::size_t i = 0; i < count; ++i) {
        const std::size_t m = first + i;
        BarPlace bar;
        bar.measure = m;
        if (i == 0) {
            bar.music =
                clef_width(task.fonts) + key_width(task.fonts, key_at(task.score, m).fifths);
            if (shows_metre(task.score, m))
                bar.music += metre_width(task.fonts, task.score.measures[m].metre);
        } else {
            bar.music = change_width(task, m);
        }
        bar.plans = plans[m];
        if (i == 0 && !bar.plans.empty()) bar.plans[0] = plan_event(task, m, 0, true);
        line.bars.push_back(std::move(bar));
    }
    std::vector<Gap> gaps = gaps_of(task, line);
    for (int round = 0; round < 8; ++round) {
        const double full = fill(gaps, width);
        line.share = std::min(full, most_share);
        line.fits = full > 0.0;
        set_places(line, gaps);
        if (!make_room(chords_of(task, line), line, gaps)) break;
    }
    for (BarPlace& bar : line.bars)
        bar.music += bar.left;
    return line;
}

double x_at(const BarPlace& bar, const Measure& measure, Ticks at) {
    if (bar.events.empty() || measure.events[0].whole_measure) {
        const double from = bar.events.empty() ? bar.left : bar.events[0];
        return from + (bar.right - from) * std::clamp(at / measure.length, 0.0, 1.0);
    }
    std::size_t e = 0;
    while (e + 1 < bar.events.size() && measure.events[e + 1].start <= at)
        ++e;
    const double from = bar.events[e];
    const double to = e + 1 < bar.events.size() ? bar.events[e + 1] : bar.right;
    const double share = (at - measure.events[e].start) / measure.events[e].length;
    return from + (to - from) * std::clamp(share, 0.0, 1.0);
}

std::string printed_chord(const std::string& typed) {
    std::string printed;
    const auto is_figure = [](char c) { return c >= '0' && c <= '9'; };
    for (std::size_t i = 0; i < typed.size(); ++i) {
        const char c = typed[i];
        const char before = i > 0 ? typed[i - 1] : '\0';
        const char after = i + 1 < typed.size() ? typed[i + 1] : '\0';
        const bool of_root =
            i > 0 && before >= 'A' && before <= 'G' && (i == 1 || typed[i - 2] == '/');
        const bool sign = of_root || is_figure(after);
        if (c == 'b' && sign) {
            printed += "♭";
        } else if (c == '#' && sign) {
            printed += "♯";
        } else {
            printed += c;
        }
    }
    return printed;
}

}  // namespace bentline::engraving
