// Where the ticks of one bar stand in text tablature, in columns of characters. [any]
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "engine/score/score.h"

namespace bentline {

// What is typed at a moment: one text after the other, each on its string (1: the thinnest).
struct TypedOnString {
    int string = 1;
    std::string text;
};
struct TypedStroke {
    Ticks at;  // from where the measure's writing begins
    std::vector<TypedOnString> typed;
    std::size_t width() const;  // characters
};

// Every beat is as wide as what is played in it needs, at least three characters, and even within
// itself; a pickup is written from where it begins.
class TabRuler {
  public:
    // strokes: of the measure, in order.
    TabRuler(const std::vector<TypedStroke>& strokes, const Measure& measure);
    // at: from where the measure's writing begins.
    std::size_t column(Ticks at) const;
    std::size_t length() const;

  private:
    int first_beat() const;
    std::size_t cut() const;
    int needed(const std::vector<TypedStroke>& strokes, int beat) const;

    Ticks skipped_;
    Ticks beat_;
    std::vector<std::size_t> starts_;  // of the beats, and the end
    std::vector<int> widths_;
};

}  // namespace bentline
