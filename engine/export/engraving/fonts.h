// The type of the printed sheet: measures of the music font and of the faces for words, as values.
//
// Read once from the font files by name of file, so that no system's font set-up matters: the music
// font Emmentaler (OFL-1.1) and the faces Linux Libertine and Biolinum (OFL-1.1). They are looked
// for where the build found them, then below BENTLINE_SHEET_FONTS if that is set, then below the
// system's shared data. Lengths are staff spaces for glyphs (the font's em is four) and ems for
// words.
//
// Failures: not_found, unreadable (a font is missing or is no font; the sentence names the
// package). [any]
#pragma once

#include <array>
#include <filesystem>
#include <map>
#include <string>
#include <string_view>

#include "engine/export/engraving/ink.h"
#include "engine/result.h"

namespace bentline::engraving {

struct GlyphMeasure {
    Box box;               // about the glyph's origin
    double advance = 0.0;  // to where the next one begins
    unsigned index = 0;    // in the font file
    char32_t code = 0;     // by which the font file's own table finds it; 0: by none
};

struct LetterMeasure {
    Box box;
    double advance = 0.0;
    unsigned index = 0;
};

struct FaceMeasures {
    std::filesystem::path file;
    std::map<char32_t, LetterMeasure> letters;
};

struct Fonts {
    std::filesystem::path music_file;
    std::array<GlyphMeasure, glyph_count> glyphs;
    std::array<FaceMeasures, face_count> faces;
    const GlyphMeasure& operator[](Glyph glyph) const {
        return glyphs[static_cast<std::size_t>(glyph)];
    }
};

Result<Fonts> load_fonts();

// One letter of a run: the face that has it (the plain face stands in for another), and where.
struct SetLetter {
    char32_t code = 0;
    Face face = Face::text;
    unsigned index = 0;
    double x = 0.0;  // from the run's beginning
    std::size_t first_byte = 0;
    std::size_t bytes = 0;
};
// Sets a run of words. What no face has becomes a question mark; bytes that are not UTF-8 too.
std::vector<SetLetter> set_letters(const Fonts& fonts, const TextShape& text);

// How far the run reaches, and the box of its ink.
double text_width(const Fonts& fonts, const TextShape& text);
Box text_box(const Fonts& fonts, const TextShape& text);
// The box of a glyph in its place.
Box glyph_box(const Fonts& fonts, const GlyphShape& glyph);

}  // namespace bentline::engraving
