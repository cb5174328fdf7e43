// What stands over the notation staff at a place of a measure: chords, section letters, tempo,
// swing, dynamics, hairpins, and the words for slides that readers do not draw. Inside
// engine/export only.
#pragma once

#include <string>
#include <variant>
#include <vector>

#include <pugixml.hpp>

#include "engine/score/score.h"

namespace bentline {

struct TempoMark {
    Tempo tempo;
    Metre metre;
};
struct SwingMark {
    double ratio = 2.0;
};
struct SectionMark {
    std::string letter;
};
struct WordsMark {
    std::string words;
    bool small = false;
};
struct HairpinMark {
    enum class End { grows, fades, stop } end = End::stop;
    int number = 1;
};

struct Mark {
    Ticks at;  // from where the measure's writing begins
    std::variant<TempoMark, SwingMark, SectionMark, ChordSymbol, DynamicMark, HairpinMark,
                 WordsMark>
        what;
};

// The marks of one measure, in order of their places.
std::vector<Mark> marks_of(const Score& score, std::size_t measure, bool plain);

// Writes one where the document has come to `now`, at or before the mark's own place.
void add_mark(pugi::xml_node measure, const Mark& mark, Ticks now);

}  // namespace bentline
