// One note, grace note or rest of the score as MusicXML, on the notation staff or on the tablature.
// Inside engine/export only.
#pragma once

#include <optional>
#include <vector>

#include <pugixml.hpp>

#include "engine/score/score.h"
#include "engine/tab/fingering.h"

namespace bentline {

enum class Staff { notation = 1, tablature = 2 };

// Where a note stands in its tuplet.
struct InTuplet {
    const Tuplet* tuplet = nullptr;
    int unit = 8;  // the note value that the tuplet counts: 8 for eighth triplets
    bool starts = false;
    bool stops = false;
    bool bracket = false;  // where no beam shows it
};

// Slides that end and begin at a note, each with the number that pairs its ends.
struct SlideEnds {
    std::optional<int> stop;
    std::optional<int> start;
};

// A wavy line at a note.
struct WavyEnds {
    bool start = false;
    bool stop = false;
};

struct NoteLook {
    Staff staff = Staff::notation;
    bool plain = false;        // without slides, bends, wavy lines and trills
    std::optional<Spot> spot;  // on the tablature; empty: hidden there
    SlideEnds slides;
    WavyEnds wavy;
    InTuplet tuplet;
    Key key;  // for a trill's accidental
};

// A head or a rest.
void add_note(pugi::xml_node measure, const Event& event, const NoteLook& look);

// The `index`th grace note of `count` before a head.
void add_grace(pugi::xml_node measure, const GraceNote& grace, std::size_t index, std::size_t count,
               const NoteLook& look);

// "quarter", "16th": MusicXML's name of a note value.
const char* type_name(int denominator);

}  // namespace bentline
