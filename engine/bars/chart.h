// A chord chart as players write it in a text file.
//
//   # The tune's name (lines that begin with # are skipped)
//   A
//   | Eb6 C7 | Fm7 Bb7 | %  | Gm7 C7 |
//   B in Ab
//   |: Abmaj7 | Am7b5 D7b9 :|
//
// Bars stand between bar lines; % is the bar before again; |: and :| play what is between twice; a
// line of one letter (also "A:" or "[A]") begins a section, "B in Ab" one in a key of its own. A
// bar that is empty stays so. Symbols that are not understood are kept as text and reported. [any]
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/bars/form.h"
#include "engine/result.h"

namespace bentline {

struct ChartTrouble {
    int line = 1;  // of the text
    int bar = 1;
    std::string symbol;  // as typed
};

struct Chart {
    std::vector<std::string> bars;  // [bar - 1]: its symbols, one space between them; % written out
    Form form;                      // of the section letters; empty where there are none
    std::vector<ChartTrouble> unknown;
};

// Fails with out_of_range where the text is no chart at all (no bar line), where % has no bar
// before it, where a repeat is not closed or opened, or where it has more than 9999 bars; the
// sentence names the line.
Result<Chart> parse_chart(std::string_view text);

}  // namespace bentline
