// Finds and loads the type faces.
#include "ui/window/fonts.h"

#include <array>
#include <filesystem>
#include <initializer_list>
#include <string>
#include <vector>

#include <imgui.h>

#include "engine/export/engraving/fonts.h"
#include "ui/window/layout.h"

namespace bentline::window {
namespace {

// Latin, punctuation, fractions, arrows, circled figures, shapes, and the triangle of a major
// seventh.
const ImWchar* letters() {
    static const std::array<ImWchar, 19> ranges{
        0x0020, 0x017F, 0x0394, 0x0394, 0x2010, 0x2044, 0x2150, 0x215F, 0x2190, 0x2199,
        0x2212, 0x2212, 0x2260, 0x2265, 0x2460, 0x2473, 0x25A0, 0x25CF, 0};
    return ranges.data();
}

// ♩ to ♯. The book faces draw their flat no higher than a small letter: beside a figure it is lost.
const ImWchar* musical_signs() {
    static const std::array<ImWchar, 3> ranges{0x2669, 0x266F, 0};
    return ranges.data();
}

std::filesystem::path first_there(std::initializer_list<const char*> names) {
    for (const char* name : names) {
        std::error_code error;
        std::filesystem::path path = std::filesystem::path(BENTLINE_FONT_FOLDER) / name;
        if (std::filesystem::exists(path, error)) return path;
    }
    return {};
}

// further: ranges of letters in other scripts, or null; they must live until the atlas is built.
ImFont* load(ImFontAtlas& atlas, std::initializer_list<const char*> names, float pixels,
             const ImWchar* further) {
    const std::filesystem::path face = first_there(names);
    ImFontConfig config;
    config.OversampleH = 2;
    config.OversampleV = 1;
    config.PixelSnapH = true;
    if (face.empty()) {
        config.SizePixels = pixels;
        return atlas.AddFontDefault(&config);
    }
    ImFont* font = atlas.AddFontFromFileTTF(face.c_str(), pixels, &config, letters());
    // Signs that the face lacks come from a face that has them all, a little smaller.
    const std::filesystem::path signs = first_there({"truetype/dejavu/DejaVuSans.ttf"});
    if (font != nullptr && !signs.empty()) {
        config.MergeMode = true;
        atlas.AddFontFromFileTTF(signs.c_str(), pixels * 0.82F, &config, letters());
        atlas.AddFontFromFileTTF(signs.c_str(), pixels * 0.92F, &config, musical_signs());
        if (further != nullptr)
            atlas.AddFontFromFileTTF(signs.c_str(), pixels * 0.88F, &config, further);
    }
    const std::filesystem::path scripts = first_there({"truetype/droid/DroidSansFallbackFull.ttf"});
    if (font != nullptr && further != nullptr && !scripts.empty()) {
        config.MergeMode = true;
        atlas.AddFontFromFileTTF(scripts.c_str(), pixels * 0.92F, &config, further);
    }
    return font;
}

// Pixels of a staff space when the music font is asked for at 32.
float space_at_32(const std::string& file, const engraving::Fonts& measures) {
    const engraving::GlyphMeasure& head = measures[engraving::Glyph::head_black];
    const std::array<ImWchar, 3> range{static_cast<ImWchar>(head.code),
                                       static_cast<ImWchar>(head.code), 0};
    ImFontAtlas probe;
    const ImFont* font = probe.AddFontFromFileTTF(file.c_str(), 32.0F, nullptr, range.data());
    if (font == nullptr || !probe.Build()) return 0.0F;
    const ImFontGlyph* glyph = font->FindGlyphNoFallback(range[0]);
    return glyph == nullptr ? 0.0F : glyph->AdvanceX / static_cast<float>(head.advance);
}

// Pixels of an em: from many letters, because each advance is rounded to whole pixels.
float em_of(const ImFont& font, const engraving::FaceMeasures& face) {
    double pixels = 0, ems = 0;
    for (char32_t code = U'a'; code <= U'z'; ++code) {
        const auto letter = face.letters.find(code);
        if (letter == face.letters.end()) continue;
        pixels += static_cast<double>(font.GetCharAdvance(static_cast<ImWchar>(code)));
        ems += letter->second.advance;
    }
    return ems > 0 ? static_cast<float>(pixels / ems) : font.FontSize;
}

// Adds the music font; `ranges` must live until the atlas is built.
void add_music(ImFontAtlas& atlas, MusicType& type, const engraving::Fonts& measures, float scale,
               std::vector<ImWchar>& ranges) {
    const std::string file = measures.music_file.string();
    const float space = space_at_32(file, measures);
    if (!(space > 0)) return;
    for (std::size_t i = 0; i < engraving::glyph_count; ++i) {
        const auto code = static_cast<ImWchar>(measures.glyphs[i].code);
        type.codes[i] = code;
        ranges.insert(ranges.end(), {code, code});
    }
    ranges.push_back(0);
    ImFontConfig config;
    config.OversampleH = 2;
    config.OversampleV = 2;
    type.font = atlas.AddFontFromFileTTF(file.c_str(), 32.0F * staff_space * scale / space, &config,
                                         ranges.data());
    type.space = staff_space * scale;
}

}  // namespace

Fonts load_fonts(ImFontAtlas& atlas, float scale, const std::set<char16_t>& further) {
    constexpr const char* sans = "opentype/linux-libertine/LinBiolinum_R.otf";
    constexpr const char* bold = "opentype/linux-libertine/LinBiolinum_RB.otf";
    constexpr const char* book = "opentype/linux-libertine/LinLibertine_R.otf";
    constexpr const char* spare = "truetype/dejavu/DejaVuSans.ttf";
    constexpr const char* spare_bold = "truetype/dejavu/DejaVuSans-Bold.ttf";
    std::vector<ImWchar> more;
    for (const char16_t letter : further)
        more.insert(more.end(), {static_cast<ImWchar>(letter), static_cast<ImWchar>(letter)});
    more.push_back(0);
    const ImWchar* scripts = further.empty() ? nullptr : more.data();
    Fonts fonts;
    fonts.text = load(atlas, {sans, spare}, 15.5F * scale, scripts);
    fonts.small = load(atlas, {sans, spare}, 13.0F * scale, scripts);
    fonts.strong = load(atlas, {bold, spare_bold}, 15.5F * scale, scripts);
    fonts.chord = load(atlas, {book, sans, spare}, 19.0F * scale, scripts);
    fonts.title = load(atlas, {book, sans, spare}, 23.0F * scale, scripts);
    const Result<engraving::Fonts> measures = engraving::load_fonts();
    std::vector<ImWchar> ranges;
    if (measures) add_music(atlas, fonts.music, *measures, scale, ranges);
    atlas.Build();
    if (measures) {
        const std::array<ImFont*, engraving::face_count> faces{fonts.chord, fonts.strong,
                                                               fonts.chord, fonts.text};
        for (std::size_t i = 0; i < faces.size(); ++i)
            fonts.music.faces[i] = {faces[i], em_of(*faces[i], measures->faces[i])};
    }
    return fonts;
}

}  // namespace bentline::window
