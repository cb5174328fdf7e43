// Reads what a page needs to know of its fonts.
#include "engine/export/engraving/fonts.h"

#include <algorithm>
#include <cstdlib>
#include <memory>
#include <optional>
#include <vector>

#include <ft2build.h>
#include FT_FREETYPE_H
#include FT_BBOX_H
#include FT_OUTLINE_H

namespace bentline::engraving {

namespace {

namespace fs = std::filesystem;

constexpr std::array<const char*, glyph_count> glyph_names{"noteheads.s0",
                                                           "noteheads.s1",
                                                           "noteheads.s2",
                                                           "rests.0",
                                                           "rests.1",
                                                           "rests.2",
                                                           "rests.3",
                                                           "rests.4",
                                                           "rests.5",
                                                           "rests.6",
                                                           "rests.7",
                                                           "accidentals.sharp",
                                                           "accidentals.flat",
                                                           "accidentals.natural",
                                                           "accidentals.doublesharp",
                                                           "accidentals.flatflat",
                                                           "clefs.G",
                                                           "flags.u3",
                                                           "flags.u4",
                                                           "flags.u5",
                                                           "flags.u6",
                                                           "flags.u7",
                                                           "flags.d3",
                                                           "flags.d4",
                                                           "flags.d5",
                                                           "flags.d6",
                                                           "flags.d7",
                                                           "dots.dot",
                                                           "scripts.staccato",
                                                           "scripts.sforzato",
                                                           "scripts.trill",
                                                           "scripts.trill_element",
                                                           "f",
                                                           "m",
                                                           "p",
                                                           "zero",
                                                           "one",
                                                           "two",
                                                           "three",
                                                           "four",
                                                           "five",
                                                           "six",
                                                           "seven",
                                                           "eight",
                                                           "nine"};

struct FontFile {
    const char* name;
    const char* package;
};
constexpr FontFile music_font{"emmentaler-20.otf", "lilypond-fonts"};
constexpr std::array<FontFile, face_count> word_fonts{
    {{"LinLibertine_R.otf", "fonts-linuxlibertine"},
     {"LinLibertine_RB.otf", "fonts-linuxlibertine"},
     {"LinLibertine_RI.otf", "fonts-linuxlibertine"},
     {"LinBiolinum_R.otf", "fonts-linuxlibertine"}}};

// The first file of that name below a folder, in the order of paths; nothing where there is none.
std::optional<fs::path> below(const fs::path& folder, std::string_view name) {
    std::error_code error;
    std::vector<fs::path> found;
    for (fs::recursive_directory_iterator
             entry(folder, fs::directory_options::skip_permission_denied, error),
         end;
         !error && entry != end; entry.increment(error)) {
        if (entry->path().filename() == name) found.push_back(entry->path());
    }
    if (found.empty()) return std::nullopt;
    return *std::min_element(found.begin(), found.end());
}

Result<fs::path> find_font(const FontFile& font, const fs::path& built_with) {
    std::error_code error;
    if (fs::is_regular_file(built_with / font.name, error)) return built_with / font.name;
    std::vector<fs::path> folders;
    if (const char* own = std::getenv("BENTLINE_SHEET_FONTS"); own != nullptr)  // NOLINT
        folders.emplace_back(own);
    folders.insert(folders.end(), {"/usr/share/lilypond", "/usr/local/share/lilypond",
                                   "/usr/share/fonts", "/usr/local/share/fonts"});
    for (const fs::path& folder : folders) {
        if (auto path = below(folder, font.name)) return *path;
    }
    return Failure{FailureKind::not_found,
                   std::string("the font ") + font.name + " for the sheet is not there; install " +
                       font.package + ", or set BENTLINE_SHEET_FONTS to the folder that holds it",
                   {font.name, {}, {}}};
}

using Library = std::unique_ptr<std::remove_pointer_t<FT_Library>, decltype(&FT_Done_FreeType)>;
using OpenFont = std::unique_ptr<std::remove_pointer_t<FT_Face>, decltype(&FT_Done_Face)>;

Failure unreadable(const fs::path& path, const char* package) {
    return {FailureKind::unreadable,
            path.string() + " cannot be read as the font that the sheet needs; install " + package +
                " again",
            {path.string(), {}, {}}};
}

Result<OpenFont> open_font(const Library& library, const fs::path& path, const char* package) {
    FT_Face face = nullptr;
    if (FT_New_Face(library.get(), path.c_str(), 0, &face) != 0) return unreadable(path, package);
    return OpenFont(face, &FT_Done_Face);
}

// units: font units in one of ours.
template <class Measure>
std::optional<Measure> measure(FT_Face face, unsigned index, double units) {
    if (FT_Load_Glyph(face, index, FT_LOAD_NO_SCALE) != 0) return std::nullopt;
    FT_BBox box{};
    if (FT_Outline_Get_BBox(&face->glyph->outline, &box) != 0) return std::nullopt;
    const auto length = [units](FT_Pos n) { return static_cast<double>(n) / units; };
    return Measure{{length(box.xMin), -length(box.yMax), length(box.xMax), -length(box.yMin)},
                   length(face->glyph->advance.x),
                   index};
}

// What players, tunes and chords are named with: Latin, Greek, Cyrillic, punctuation, figures,
// signs.
constexpr std::array<std::pair<char32_t, char32_t>, 5> alphabet{
    {{0x20, 0x17F}, {0x384, 0x45F}, {0x1E00, 0x1EF9}, {0x2010, 0x2264}, {0x25B2, 0x266F}}};

Result<FaceMeasures> read_face(const Library& library, std::size_t face) {
    auto path = find_font(word_fonts[face], BENTLINE_WORD_FONTS);
    if (!path) return path.failure();
    auto font = open_font(library, *path, word_fonts[face].package);
    if (!font) return font.failure();
    FaceMeasures result{*path, {}};
    const double em = font.value()->units_per_EM;
    for (const auto& [from, to] : alphabet) {
        for (char32_t code = from; code <= to; ++code) {
            const unsigned index = FT_Get_Char_Index(font.value().get(), code);
            if (index == 0) continue;
            if (auto letter = measure<LetterMeasure>(font.value().get(), index, em))
                result.letters.emplace_hint(result.letters.end(), code, *letter);
        }
    }
    if (result.letters.count(U'?') == 0) return unreadable(*path, word_fonts[face].package);
    return result;
}

}  // namespace

Result<Fonts> load_fonts() {
    FT_Library opened = nullptr;
    if (FT_Init_FreeType(&opened) != 0)
        return Failure{FailureKind::unreadable, "the font reader did not start; try again", {}};
    const Library library(opened, &FT_Done_FreeType);
    Fonts fonts;
    auto music = find_font(music_font, BENTLINE_MUSIC_FONTS);
    if (!music) return music.failure();
    fonts.music_file = *music;
    auto font = open_font(library, *music, music_font.package);
    if (!font) return font.failure();
    std::map<unsigned, char32_t> codes;
    FT_UInt found = 0;
    for (FT_ULong code = FT_Get_First_Char(font.value().get(), &found); found != 0;
         code = FT_Get_Next_Char(font.value().get(), code, &found)) {
        codes.emplace(found, static_cast<char32_t>(code));
    }
    const double space = font.value()->units_per_EM / 4.0;  // the em is the staff's height
    for (std::size_t i = 0; i < glyph_count; ++i) {
        // NOLINTNEXTLINE: the library takes its strings without const in older versions
        const unsigned index = FT_Get_Name_Index(font.value().get(), glyph_names[i]);
        auto glyph =
            index == 0 ? std::nullopt : measure<GlyphMeasure>(font.value().get(), index, space);
        if (!glyph) return unreadable(*music, music_font.package);
        fonts.glyphs[i] = *glyph;
        if (const auto code = codes.find(index); code != codes.end())
            fonts.glyphs[i].code = code->second;
    }
    for (std::size_t i = 0; i < face_count; ++i) {
        auto face = read_face(library, i);
        if (!face) return face.failure();
        fonts.faces[i] = std::move(*face);
    }
    return fonts;
}

namespace {

// The code point at a byte, and how many bytes it takes; a stray byte is one question mark.
std::pair<char32_t, std::size_t> code_at(std::string_view text, std::size_t at) {
    const auto byte = [&](std::size_t i) -> unsigned {
        return i < text.size() ? static_cast<unsigned char>(text[i]) : 0U;
    };
    const unsigned lead = byte(at);
    if (lead < 0x80U) return {lead, 1};
    const std::size_t count = lead >= 0xF0U ? 4 : lead >= 0xE0U ? 3 : lead >= 0xC2U ? 2 : 1;
    char32_t code = lead & (0xFFU >> (count + 1));
    for (std::size_t i = 1; i < count; ++i) {
        if ((byte(at + i) & 0xC0U) != 0x80U) return {U'?', 1};
        code = (code << 6U) | (byte(at + i) & 0x3FU);
    }
    return {count == 1 ? U'?' : code, count};
}

}  // namespace

std::vector<SetLetter> set_letters(const Fonts& fonts, const TextShape& text) {
    std::vector<SetLetter> result;
    double x = 0.0;
    for (std::size_t at = 0; at < text.text.size();) {
        const auto decoded = code_at(text.text, at);
        char32_t code = decoded.first;
        const std::size_t bytes = decoded.second;
        Face face = text.face;
        const auto in = [&](Face f) -> const LetterMeasure* {
            const auto& letters = fonts.faces[static_cast<std::size_t>(f)].letters;
            const auto found = letters.find(code);
            return found == letters.end() ? nullptr : &found->second;
        };
        const LetterMeasure* letter = in(face);
        if (letter == nullptr) letter = in(face = Face::text);
        if (letter == nullptr) {
            code = U'?';
            letter = in(face = text.face);
        }
        result.push_back({code, face, letter->index, x, at, bytes});
        x += letter->advance * text.size;
        at += bytes;
    }
    return result;
}

double text_width(const Fonts& fonts, const TextShape& text) {
    const auto letters = set_letters(fonts, text);
    if (letters.empty()) return 0.0;
    const SetLetter& last = letters.back();
    const auto& face = fonts.faces[static_cast<std::size_t>(last.face)];
    return last.x + face.letters.at(last.code).advance * text.size;
}

Box text_box(const Fonts& fonts, const TextShape& text) {
    std::optional<Box> box;
    for (const SetLetter& letter : set_letters(fonts, text)) {
        const Box& ink =
            fonts.faces[static_cast<std::size_t>(letter.face)].letters.at(letter.code).box;
        if (ink.right <= ink.left) continue;
        const Box here{ink.left * text.size + letter.x, ink.top * text.size,
                       ink.right * text.size + letter.x, ink.bottom * text.size};
        box = box ? united(*box, here) : here;
    }
    return box.value_or(Box{}).moved(text.at.x, text.at.y);
}

Box glyph_box(const Fonts& fonts, const GlyphShape& glyph) {
    const Box& box = fonts[glyph.glyph].box;
    return Box{box.left * glyph.scale, box.top * glyph.scale, box.right * glyph.scale,
               box.bottom * glyph.scale}
        .moved(glyph.at.x, glyph.at.y);
}

}  // namespace bentline::engraving
