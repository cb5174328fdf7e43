// The window's colours: paper, ink, pencil and two accents that stay apart for colour-blind eyes.
//
// Colour never carries a meaning alone: pencilled is dashed, inked is solid, the loop has a
// bracket, the playhead a flag. The figures (WCAG 2.1 contrast) are asserted in tests/window.
#pragma once

#include <cstdint>

namespace bentline::window {

// 8-bit channels of sRGB, packed as the toolkit packs them (0xAABBGGRR).
using Colour = std::uint32_t;

constexpr Colour rgb(unsigned hex, unsigned alpha = 255) {
    return ((hex >> 16) & 0xFFU) | (hex & 0xFF00U) | ((hex & 0xFFU) << 16) | (alpha << 24);
}
constexpr Colour with_alpha(Colour c, unsigned alpha) {
    return (c & 0x00FFFFFFU) | (alpha << 24);
}

enum class Paper { light, dark };

struct Palette {
    Colour desk;    // behind the sheets
    Colour paper;   // the sheets
    Colour shade;   // a quiet fill on paper: rows of black keys, hovered things
    Colour rule;    // hairlines
    Colour ink;     // text, inked notes, the pitch line
    Colour soft;    // secondary text
    Colour pencil;  // pencilled notes
    Colour here;    // accent one: the playhead, what is picked, what is about to be lost
    Colour span;    // accent two: the loop, the focus, what can be taken hold of
};

const Palette& palette(Paper paper);

// (L1 + 0.05) / (L2 + 0.05) of relative luminances [WCAG 2.1, 1.4.3], 1 to 21; alpha is ignored.
double contrast(Colour a, Colour b);

}  // namespace bentline::window
