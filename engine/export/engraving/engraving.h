// Engraving: a score and its fingering laid out as pages of ink. Pure: values in, a value out.
//
// The steps stand in their own headers and can be used alone: where the columns of a line lie
// (spacing.h; a window can put its own positions there, so that the bars stand under a pitch line),
// and what ink a line gets (line.h). Rules are those of engraving as it is taught (common practice;
// where E. Gould, Behind Bars, 2011, says so, from memory); the sizes are ours.
// [any]
#pragma once

#include <map>
#include <string>
#include <vector>

#include "engine/export/engraving/fonts.h"
#include "engine/export/engraving/ink.h"
#include "engine/export/engraving/settings.h"
#include "engine/result.h"
#include "engine/score/score.h"
#include "engine/units.h"

namespace bentline::engraving {

struct TabSpot {
    int string = 1;  // 1: the thinnest
    int fret = 0;
    friend bool operator==(const TabSpot&, const TabSpot&) = default;
};
// The tablature: where each note is played. A note that is missing here stands as a question mark.
struct TabPlan {
    int strings = 6;  // six to eight
    std::map<NoteId, TabSpot> spots;
};

// What the title block says beyond the score itself; empty parts are left out.
struct Heading {
    std::string recording;  // "lifted from …, 12 c flat of A = 440 Hz"
    std::string tuning;     // where it is not the standard one: "D A D G B E, capo 2"
    std::string rights;     // small, at the foot of the first page
};

// Fails with out_of_range where the score has no bars.
Result<Sheet> engrave(const Score& score, const TabPlan& tab, const Heading& heading,
                      const Fonts& fonts, const Settings& settings = {});

// What the steps below share. Refers to its parts, so it must not outlive them.
struct Task {
    const Score& score;
    const TabPlan& tab;
    const Fonts& fonts;
    const Settings& settings;
};

}  // namespace bentline::engraving
