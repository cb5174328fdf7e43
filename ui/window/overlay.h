// What the sheets that lie over the desk have in common.
#pragma once

#include <functional>
#include <optional>
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

// The rulers and words of a sheet as rows that the keys reach: up and down choose one, left and
// right change a ruler by a step. Made anew in every frame; Scratch::row is the chosen one.
class Rows {
  public:
    // overlay: the sheet, so that the first row is chosen when it comes up. count: of its rows.
    Rows(const Page& page, Overlay overlay, int count);
    // The next row. The ruler's new value, by rider or by key, in whole steps and within its ends.
    std::optional<double> ruler(const char* id, const Box& box, Ruler ruler, double step);
    // The same, but a rider tells its value once, when it is let go: for what is an edit. `words`
    // says a value.
    std::optional<double> edited(const char* id, const Box& box, Ruler ruler, double step,
                                 const std::function<std::string(double)>& words);
    // The next row; true where it is the chosen one. `enter`: and Enter was pressed.
    struct Chosen {
        bool here = false;
        bool enter = false;
    };
    Chosen word();

  private:
    const Page& page_;
    int next_ = 0;
};

void draw_practice(const Page& page);
void draw_focus(const Page& page);
void draw_chooser(const Page& page);
void draw_keys(const Page& page);
void draw_history(const Page& page);

}  // namespace bentline::window
