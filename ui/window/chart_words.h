// What is written over a bar of the chart: its section's letter, its chords, the number of a
// chorus; and what is drawn in it.
#pragma once

#include <string>

#include "ui/window/page.h"

namespace bentline::window {

// In a frame of its own, at the box's right end. [window]
void draw_letter(const Page& page, const Box& box, const std::string& letter);
// A chorus begins here: its number before the letter, and from the second on a line across the
// page, over the line of bars. [window]
void draw_chorus(const Page& page, const Box& line, const Box& letter, int count);
// One size for the chords of a line of bars, each with so much room: the largest in which all that
// are short enough for the smallest fit. larger: of the line; from `large_type` on one size more.
inline constexpr float large_type = 1.12F;
struct ChordLook {
    ImFont* font = nullptr;
    bool two_rows = false;  // one of them is too long for that
};
ChordLook chord_look(const Page& page, int first_bar, int bars, float room, float larger);
// The chords of one bar: in the type of their line, or, too long for it, in two small lines.
// [window]
void draw_chords(const Page& page, const Box& field, ImFont* font, const std::string& chords);

// The pitch line of one bar, small; rows: the keys from its box's foot to its top. [window]
void mini_line(const Page& page, const Box& box, SecondsRange bar, Range<int> rows, float larger);
// How much of the bar is inked: solid for inked, dashed for pencilled, nothing where there are
// none. [window]
void inked_share(const Page& page, const Box& box, SecondsRange bar);

}  // namespace bentline::window
