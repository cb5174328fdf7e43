// What the view keeps for itself between frames: type, drags under way, texts being typed.
//
// Nothing here is part of the document or of a session; losing it loses nothing.
#pragma once

#include <array>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "engine/draft/note_list.h"
#include "engine/units.h"
#include "ui/window/fonts.h"
#include "ui/window/layout.h"
#include "ui/window/palette.h"

namespace bentline::window {

// What the mouse holds.
enum class Grip {
    none,
    loop,       // a new loop is drawn over a ruler of time
    loop_from,  // an end of the loop
    loop_to,
    note,       // a note is moved
    note_from,  // or one of its ends
    note_to,
    new_note,
    measure,
    register_low,
    register_high,
    beat,  // a beat line; value_from: which
    stage_place,
    stage_width,
    ruler,  // a rider of the transport
};

struct Drag {
    Grip grip = Grip::none;
    Seconds from, now;        // where it began, where it is
    double value = 0.0;       // pitch, place or rider, where it is
    double value_from = 0.0;  // where it began
    NoteId note;
    unsigned owner = 0;  // of a rider: which
};

struct Scratch {
    Fonts fonts;
    float scale = 1.0F;                // pixels a point
    std::vector<std::string> strokes;  // keys pressed since the last frame: "ctrl+s", "left", "b"
    double seconds = 0.0;              // a clock for what blinks; set by the shell

    Drag drag;
    NoteId hovered;                  // the note under the mouse; 0: none
    float chart_scroll = 0.0F;       // pixels
    std::optional<int> chord_bar;    // whose chords are being typed
    std::optional<int> section_bar;  // whose section's letter is being typed
    int chart_bar = 0;               // that the chart has followed the playing to
    std::array<char, 1024> typed{};  // chord, file name or path, filter
    // Tempo, metre, key, form; title, players
    std::array<std::array<char, 160>, 6> bar_fields{};
    int row = 0;             // of the list that the overlay shows
    int overlay_shown = -1;  // which overlay was drawn last, to begin it afresh
    // A rider that is dragged, and where it is: what it sets is an edit, and waits for its end.
    std::optional<std::pair<int, double>> riding;
    std::string binding;  // the command whose key is being chosen

    std::set<char16_t> unknown;          // letters that the type has not loaded yet
    std::vector<std::string> shortened;  // labels of this frame that did not fit; tests want none
    std::vector<Box> queries;            // beside doubtful notes, of this frame: kept clear
    // For tests: what was written in this frame and where, instead of ink. `over`: those before it
    // lie under the overlay.
    struct Written {
        Box box;
        Colour colour = 0;
        std::string text;
    };
    struct Texts {
        std::vector<Written> all;
        std::size_t over = 0;
    };
    std::optional<Texts> texts;
};

}  // namespace bentline::window
