#include "tests/corpus/instruments.h"

#include <array>
#include <filesystem>

#include "tests/corpus/other_band.h"

namespace bentline::corpus {

namespace {

constexpr std::string_view fluid = "/usr/share/sounds/sf2/FluidR3_GM.sf2";
constexpr std::string_view tim = "/usr/share/sounds/sf2/TimGM6mb.sf2";
constexpr std::string_view general = "/usr/share/sounds/sf3/MuseScore_General_Lite.sf3";
// Of freepats.
constexpr std::string_view steel = "/usr/share/midi/freepats/Tone_000/025_Steel_Guitar.pat";
constexpr std::string_view jazz = "/usr/share/midi/freepats/Tone_000/026_Jazz_Guitar.pat";
constexpr std::string_view clean =
    "/usr/share/midi/freepats/Tone_000/027_Clean_Electric_Guitar.pat";
constexpr std::string_view muted =
    "/usr/share/midi/freepats/Tone_000/028_Muted_Electric_Guitar.pat";
constexpr std::string_view driven = "/usr/share/midi/freepats/Tone_000/029_Overdriven_Guitar.pat";
constexpr std::string_view alto = "/usr/share/midi/freepats/Tone_000/065_Alto_Sax.pat";
constexpr std::string_view distorted =
    "/usr/share/midi/freepats/Tone_000/030_Distortion_Guitar.pat";

constexpr Instrument font(std::string_view file, int program, int lowest = 43) {
    return {Maker::soundfont, file, program, lowest};
}
constexpr Instrument wind(std::string_view file, int program) {
    return {Maker::soundfont, file, program, 50, Drift::breathed};
}
constexpr Instrument patch(std::string_view file) {
    return {Maker::patch, file, 0};
}
constexpr Instrument summed{Maker::summed_string, {}, 0};
constexpr Instrument waveguide{Maker::waveguide, {}, 0};
constexpr Instrument clips{Maker::guitar_clips, {}, 0, 52};

// General MIDI from 0: 24 nylon, 25 steel, 26 jazz, 27 clean electric, 28 muted, 29 overdriven, 30
// distorted guitar; 56 trumpet, 65 alto saxophone, 71 clarinet, 105 banjo. MuseScore's
// font has its driven guitars, banjo and winds from FluidR3's samples, so they are no third source.
constexpr std::array development = {
    font(fluid, 26), font(tim, 27, 48), font(fluid, 27), font(tim, 25, 53),
    font(fluid, 25), font(tim, 26),     summed};
constexpr std::array locked = {
    font(fluid, 26), font(tim, 24), font(general, 25), font(tim, 27, 48), font(fluid, 24),
    font(fluid, 27), summed,        font(tim, 26),     font(general, 24)};
constexpr std::array wide = {patch(steel),    font(fluid, 29, 46), patch(distorted),
                             font(tim, 28),   font(fluid, 30, 49), font(tim, 105),
                             wind(fluid, 71), wind(fluid, 56)};
constexpr std::array foreign = {patch(jazz),       waveguide,         clips,
                                font(tim, 29, 46), patch(clean),      patch(muted),
                                patch(driven),     font(tim, 30, 46), font(fluid, 105, 55),
                                wind(tim, 65),     patch(alto)};

constexpr std::array<std::string_view, 2> usual_bands = {fluid, tim};
constexpr std::array<std::string_view, 3> locked_bands = {fluid, tim, general};

}  // namespace

const Cast& cast_of(Seeds seeds) {
    static const std::array<Cast, 4> casts = {
        {{development, usual_bands, 1000, write_accompaniment},
         {locked, locked_bands, 770000, write_accompaniment},
         {wide, usual_bands, 3'000'000, write_other_band},
         {foreign, usual_bands, 9'100'000, write_other_band}}};
    return casts.at(static_cast<std::size_t>(seeds));
}

std::string name_of(const Instrument& i) {
    std::string stem = std::filesystem::path(i.file).stem().string();
    switch (i.maker) {
        case Maker::soundfont:
            return stem + " " + std::to_string(i.program);
        case Maker::patch:
            return "patch " + stem;
        case Maker::summed_string:
            return "summed string";
        case Maker::waveguide:
            return "waveguide";
        case Maker::guitar_clips:
            return "guitar clips";
    }
    return stem;
}

std::optional<std::string> missing_file(Seeds seeds) {
    const auto missing = [](std::string_view file) {
        return !file.empty() && !std::filesystem::exists(file);
    };
    for (const std::string_view font : cast_of(seeds).band_fonts)
        if (missing(font)) return std::string(font) + " is not installed";
    for (const Instrument& i : cast_of(seeds).leads) {
        if (missing(i.file)) return std::string(i.file) + " is not installed";
        if (i.maker == Maker::guitar_clips && missing("/usr/share/sonic-pi/samples"))
            return "sonic-pi-samples is not installed";
    }
    return std::nullopt;
}

}  // namespace bentline::corpus
