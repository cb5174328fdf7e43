// What the sheets that lie over the desk have in common.
#pragma once

#include <string>
#include <string_view>

#include "ui/window/page.h"

namespace bentline::window {

// Was the stroke made in this frame?
bool pressed(const Page& page, std::string_view stroke);
// A sheet in the middle, or low so that the bench stays in view, with a title and a way out; the
// box that is free for its content.
enum class Where { middle, low };
Box overlay_sheet(const Page& page, float width, float height, const std::string& title,
                  Where where = Where::middle);
// A line to type on. True when Enter was pressed in it. `focus`: the keyboard goes there now.
bool text_field(const Page& page, const char* id, const Box& box, char* text, std::size_t size,
                bool focus);

void draw_chooser(const Page& page);
void draw_keys(const Page& page);
void draw_history(const Page& page);

}  // namespace bentline::window
