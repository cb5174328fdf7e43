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
#include "engine/result.h"
#include "engine/score/score.h"
#include "engine/units.h"

namespace bentline::engraving {

// ISO 216: A4 is 210 mm by 297 mm; ANSI Y14.1: Letter is 8.5 in by 11 in.
enum class Paper { a4, letter };
struct PaperSize {
    double width_mm, height_mm;
};
PaperSize size_of(Paper paper);

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

struct Settings {
    Paper paper = Paper::a4;
    int bars_a_line = 4;  // at most, 1 to 8; dense lines take fewer
    bool tab = true;
    bool measured = false;   // the measured cents and rates in small type
    double space_mm = 1.65;  // of a staff space, 1 to 3; smaller where a bar does not fit a line
    double margin_mm = 14.0;
    // Spacing: a gap grows by this factor for each doubling of its time. About the square root of
    // two (common practice; so the space of a note lies between fixed and proportional).
    double growth = 1.4;
    double eighth = 2.95;  // the natural gap of an eighth, in spaces
    // A line may be squeezed to this share of the natural gaps, and not stretched beyond that one.
    double least_share = 0.70;
    double most_share = 1.45;
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
