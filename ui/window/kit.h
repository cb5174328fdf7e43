// The window's own pens and handles: text, buttons that are words, rulers with a rider, and the
// signs of engraving. Everything is drawn with lines; nothing comes from the toolkit's own look.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <string_view>

#include <imgui.h>

#include "ui/window/layout.h"
#include "ui/window/palette.h"
#include "ui/window/scratch.h"

namespace bentline::window {

// Where on its line or in its box a text begins.
enum class Align { left, centre, right };

// One ruler: a line with ticks and a rider.
struct Ruler {
    std::string_view label;
    std::string value;  // in words, at the right
    double now = 0.0;
    double low = 0.0, high = 1.0;
    double home = 0.0;      // where a double click puts it; marked
    bool by_ratio = false;  // ticks and rider by ratio instead of difference
    int ticks = 10;
    bool chosen = false;  // by the keys
};

class Kit {
  public:
    Kit(ImDrawList* list, const Palette& palette, Scratch& scratch)
        : c(palette), f(scratch.fonts), list_(list), scratch_(scratch) {}

    const Palette& c;
    const Fonts& f;
    ImDrawList& list() const { return *list_; }
    Scratch& scratch() const { return scratch_; }
    float pt(float points) const { return points * scratch_.scale; }

    // --- text
    ImVec2 size(ImFont* font, std::string_view text) const;
    void text(ImFont* font, float x, float y, Colour colour, std::string_view text) const;
    // In a box, vertically centred; shortened with "…" (and reported) where it does not fit.
    void text_in(ImFont* font, const Box& box, Align align, Colour colour,
                 std::string_view text) const;
    // On a patch of paper, where lines run beneath.
    void text_over(ImFont* font, float x, float y, Colour colour, std::string_view text) const;
    // Where a text of another size begins so that both stand on one line of writing.
    float beside(ImFont* font, float y, ImFont* other) const;
    // What is typed is written by the toolkit: letters in it that the type lacks are asked for
    // here.
    void learn(ImFont* font, std::string_view text) const;
    // The toolkit ends the program where a letter is taken out of a text that is no UTF-8: such
    // bytes become low lines before it is typed on.
    static void make_typable(char* text);
    // Several lines, broken at spaces; returns the y below the last.
    float paragraph(ImFont* font, const Box& box, Colour colour, std::string_view text) const;

    // --- surfaces
    void sheet(const Box& box) const;  // paper with a hairline edge
    void fill(const Box& box, Colour colour) const;
    void line(float x0, float y0, float x1, float y1, Colour colour, float points = 1.0F) const;
    void frame(const Box& box, Colour colour, float points = 1.0F) const;
    void dashed(float x0, float y0, float x1, float y1, Colour colour, float points = 1.0F,
                float dash = 4.0F) const;
    void dashed_frame(const Box& box, Colour colour, float points = 1.0F) const;

    // --- signs
    void bracket(float x0, float x1, float y, float drop, Colour colour) const;  // over bars
    void wave(float x0, float x1, float y, float height, Colour colour) const;   // vibrato, trill
    void arrow(float x0, float y0, float x1, float y1, Colour colour, float points = 1.5F) const;
    // A bend: leaves (x0, y0) level and rises to an arrow head at (x1, y1).
    void bend_arrow(float x0, float y0, float x1, float y1, Colour colour) const;
    void flag(float x, float y, Colour colour) const;  // of the playhead
    void play_sign(const Box& box, bool playing, Colour colour) const;

    // --- handles
    // An area that the mouse can press. id: unique in the window.
    struct Touch {
        bool hovered = false;
        bool pressed = false;  // went down in this frame
        bool held = false;
        bool released = false;  // went up in this frame, wherever
        bool clicked = false;   // went up inside
        bool twice = false;
    };
    Touch area(const char* id, const Box& box) const;
    // A word that can be pressed, with its key behind it in small type; in a list (Align::left)
    // words and keys stand in columns of their own. True when pressed.
    bool word(const char* id, const Box& box, std::string_view label, std::string_view key,
              bool chosen = false, bool able = true, Align align = Align::centre) const;
    // The new value while the rider is dragged.
    std::optional<double> ruler(const char* id, const Box& box, const Ruler& ruler) const;

  private:
    ImDrawList* list_;
    Scratch& scratch_;
};

inline ImVec2 at(float x, float y) {
    return {x, y};
}

}  // namespace bentline::window
