// Where the columns of a line stand: springs between them by duration, rods by what must not touch.
//
// A gap's natural width grows by Settings::growth for each doubling of its time; a line multiplies
// all of them by one share until it is full, but no gap gets smaller than the ink in it needs (the
// springs and rods of J. S. Gourlay, "Spacing a line of music", Ohio State University, 1987, from
// memory). A window that has its own places for the events fills a LinePlace itself. [any]
#pragma once

#include <optional>
#include <vector>

#include "engine/export/engraving/plan.h"

namespace bentline::engraving {

inline constexpr double chord_size = 2.45;

struct BarPlace {
    std::size_t measure = 0;
    double left = 0.0;  // its bar lines
    double right = 0.0;
    double music = 0.0;            // right end of clef, key and metre at its beginning
    std::vector<double> events;    // left edge of each head or rest
    std::vector<EventPlan> plans;  // of each event
};

struct LinePlace {
    double left = 0.0;   // where the staff begins
    double right = 0.0;  // and ends: at the last bar line, or behind what it announces
    bool clef = true;    // clef and key at the beginning
    double share = 1.0;  // of the natural gaps
    bool fits = true;    // no gap is smaller than its ink needs
    std::vector<BarPlace> bars;
    // Where the music ends: the last bar line.
    double music_end() const { return bars.empty() ? right : bars.back().right; }
};

using Plans = std::vector<std::vector<EventPlan>>;  // [measure][event]

// Natural width of a gap, in spaces.
double natural_gap(Ticks length, const Settings& settings);

// True where the metre is written: at the first measure and where it changes.
bool shows_metre(const Score& score, std::size_t measure);
// True where two thin lines stand before a measure: a section or another key begins (common
// practice).
bool double_bar_line_before(const Score& score, std::size_t measure);
// True where another signature begins than the measure before has.
bool changes_key(const Score& score, std::size_t measure);
// Widths at a line's and a bar's beginning.
double key_width(const Fonts& fonts, int fifths);
// Of a change inside the piece: the new signature; naturals where the new key has none.
double key_change_width(const Fonts& fonts, int before, int fifths);
double clef_width(const Fonts& fonts);
double metre_width(const Fonts& fonts, const Metre& metre);

// Measures [first, first + count) from `left` on, filling `width`. most_share: where the line would
// need a larger share than that to fill the width, it stays shorter. A key or metre that changes
// with the next line is announced at the end of this one.
LinePlace place_line(const Task& task, const Plans& plans, std::size_t first, std::size_t count,
                     double left, double width, double most_share);

// The place of a moment of a measure, between its events in proportion.
double x_at(const BarPlace& bar, const Measure& measure, Ticks at);

// A chord symbol as it is printed: real flats and sharps.
std::string printed_chord(const std::string& typed);

}  // namespace bentline::engraving
