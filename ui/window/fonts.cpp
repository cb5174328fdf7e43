// Finds and loads the type faces.
#include "ui/window/fonts.h"

#include <array>
#include <filesystem>
#include <initializer_list>
#include <string>

#include <imgui.h>

namespace bentline::window {
namespace {

// Latin, punctuation, fractions, arrows, circled figures, shapes, musical signs, and the triangle
// of a major seventh.
const ImWchar* glyphs() {
    static const std::array<ImWchar, 21> ranges{
        0x0020, 0x017F, 0x0394, 0x0394, 0x2010, 0x2044, 0x2150, 0x215F, 0x2190, 0x2199, 0x2212,
        0x2212, 0x2260, 0x2265, 0x2460, 0x2473, 0x25A0, 0x25CF, 0x2669, 0x266F, 0};
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

ImFont* load(ImFontAtlas& atlas, std::initializer_list<const char*> names, float pixels) {
    const std::filesystem::path face = first_there(names);
    ImFontConfig config;
    config.OversampleH = 2;
    config.OversampleV = 1;
    config.PixelSnapH = true;
    if (face.empty()) {
        config.SizePixels = pixels;
        return atlas.AddFontDefault(&config);
    }
    ImFont* font = atlas.AddFontFromFileTTF(face.c_str(), pixels, &config, glyphs());
    // Signs that the face lacks come from a face that has them all, a little smaller.
    const std::filesystem::path signs = first_there({"truetype/dejavu/DejaVuSans.ttf"});
    if (font != nullptr && !signs.empty()) {
        config.MergeMode = true;
        atlas.AddFontFromFileTTF(signs.c_str(), pixels * 0.82F, &config, glyphs());
    }
    return font;
}

}  // namespace

Fonts load_fonts(ImFontAtlas& atlas, float scale) {
    constexpr const char* sans = "opentype/linux-libertine/LinBiolinum_R.otf";
    constexpr const char* bold = "opentype/linux-libertine/LinBiolinum_RB.otf";
    constexpr const char* book = "opentype/linux-libertine/LinLibertine_R.otf";
    constexpr const char* spare = "truetype/dejavu/DejaVuSans.ttf";
    constexpr const char* spare_bold = "truetype/dejavu/DejaVuSans-Bold.ttf";
    Fonts fonts;
    fonts.text = load(atlas, {sans, spare}, 15.5F * scale);
    fonts.small = load(atlas, {sans, spare}, 13.0F * scale);
    fonts.strong = load(atlas, {bold, spare_bold}, 15.5F * scale);
    fonts.chord = load(atlas, {book, sans, spare}, 19.0F * scale);
    fonts.title = load(atlas, {book, sans, spare}, 23.0F * scale);
    atlas.Build();
    return fonts;
}

}  // namespace bentline::window
