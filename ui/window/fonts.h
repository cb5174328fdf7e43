// The window's type: a humanist sans for figures and labels, a book face for names and chords, both
// with real ♭ and ♯.
#pragma once

#include <array>
#include <set>

#include "engine/export/engraving/ink.h"

struct ImFont;
struct ImFontAtlas;

namespace bentline::window {

// The type of the manuscript, as the printed sheet has it.
struct MusicType {
    struct Face {
        ImFont* font = nullptr;
        float em = 1.0F;  // pixels, at the font's own size
    };
    ImFont* font = nullptr;  // null: not installed
    float space = 1.0F;      // pixels of a staff space, at the font's own size
    std::array<unsigned short, engraving::glyph_count> codes{};
    std::array<Face, engraving::face_count> faces{};
};

// Sizes in points at scale 1. Never null after load_fonts.
struct Fonts {
    ImFont* small = nullptr;   // 13, figures beside signs
    ImFont* text = nullptr;    // 15.5, labels and sentences
    ImFont* strong = nullptr;  // 15.5 bold, what is chosen
    ImFont* chord = nullptr;   // 19, chord names and section letters, book face
    ImFont* title = nullptr;   // 23, the name of the sheet, book face
    MusicType music;
};

// Adds the fonts to the atlas at `scale` pixels a point and builds it. further: letters of names in
// other scripts, to be found in the spare faces. Files are looked for in the
// folder that the build names (BENTLINE_FONT_FOLDER); where one is missing the next best stands in,
// at last the toolkit's own font, so that the window always has text. [window]
Fonts load_fonts(ImFontAtlas& atlas, float scale, const std::set<char16_t>& further = {});

}  // namespace bentline::window
