// What one event needs beside its head: where its accidental, grace notes, dots and lines stand.
//
// Offsets are from the left edge of the head, so that the spacing of a line and its drawing agree
// on every extent. [any]
#pragma once

#include <optional>
#include <vector>

#include "engine/export/engraving/engraving.h"

namespace bentline::engraving {

inline constexpr double grace_scale = 0.66;
inline constexpr double grace_stem_inset = 0.05;  // of its stem from the head's right edge
inline constexpr double fret_size = 1.9;          // ems of the figures
inline constexpr double small_fret_size = 1.45;   // of grace notes and tied notes
inline constexpr double bend_reach = 1.15;        // from the fret to the arrow

struct GracePlan {
    double x = 0.0;  // left edge of its head
    std::optional<double> accidental;
    std::optional<TabSpot> spot;  // where there is a tablature and a place
};

struct EventPlan {
    double head = 0.0;  // width of the head or the rest
    std::optional<double> accidental;
    std::vector<GracePlan> graces;  // in the order played
    std::optional<TabSpot> spot;
    std::string fret;  // what stands in the tablature; empty: nothing
    double fret_em = fret_size;
    double fret_half = 0.0;  // half its width
    double lead = 0.0;       // left end of what sits on the head's left: accidental or the head
    double dots = 0.0;       // left edge of the first dot
    double after = 0.0;      // right end of head and dots
    double tab_after = 0.0;  // right end of fret, bend and trill
    double bend_way = bend_reach;  // sideways, of a bend's arrow up and of its arrow down
    double staff_left = 0.0;       // left end of all on the staff, grace notes too
    double tab_left = 0.0;         // and in the tablature
    double left = 0.0;             // how far everything reaches to the left (>= 0)
    double right = 0.0;            // and to the right
    double clear = 0.5;            // least space to the next thing, more where a line must show
};

// opens_line: the first of a line; a note tied over from the line before shows its fret again
// there, in parentheses.
EventPlan plan_event(const Task& task, std::size_t measure, std::size_t event, bool opens_line);
// Plans of all events: [measure][event], as if no line began there.
std::vector<std::vector<EventPlan>> plan_events(const Task& task);

// The signs of a head by kind.
template <class S>
const S* sign_of(const Head& head) {
    for (const Sign& sign : head.signs) {
        if (const S* found = std::get_if<S>(&sign)) return found;
    }
    return nullptr;
}

Glyph head_glyph(int denominator);
Glyph rest_glyph(int denominator);
Glyph accidental_glyph(int alter);
// How far the flag of a single grace note reaches right of its head.
double grace_flag_width(const Fonts& fonts);
// True where a line from a head's last grace note would pass under that note's flag.
bool slides_under_flag(const Head& head);
// Height of a sounding pitch on the staff, from the middle line, downwards.
double staff_height(const SpelledPitch& pitch);
// "¼", "½", "full", "1½": a bend counted in whole tones.
std::string bend_figure(double semitones);
// Width of a fret's figures.
double fret_width(const Fonts& fonts, const std::string& fret, double size);

}  // namespace bentline::engraving
