// Turns the instruments and seeds over, so that few takes already show many of both.
#include "tests/corpus/collection.h"

#include <algorithm>
#include <array>
#include <filesystem>
#include <span>
#include <vector>

#include "tests/corpus/phrase.h"
#include "tests/corpus/string_voice.h"
#include "tests/support/dice.h"

namespace bentline::corpus {

namespace {

struct Instrument {
    std::string_view font;
    int program;
    int lowest = 43;  // MIDI key; some samples have no clear pitch below
};

// An instrument of string_voice.h, drawn anew for each take.
constexpr std::string_view summed = "summed string";
constexpr std::string_view fluid = "/usr/share/sounds/sf2/FluidR3_GM.sf2";
constexpr std::string_view tim = "/usr/share/sounds/sf2/TimGM6mb.sf2";
constexpr std::string_view general = "/usr/share/sounds/sf3/MuseScore_General_Lite.sf3";

// 24 nylon, 25 steel, 26 jazz, 27 clean electric guitar.
constexpr std::array<Instrument, 7> development = {
    {{fluid, 26}, {tim, 27, 48}, {fluid, 27}, {tim, 25, 53}, {fluid, 25}, {tim, 26}, {summed, 0}}};
constexpr std::array<Instrument, 9> locked_ones = {{{fluid, 26},
                                                    {tim, 24},
                                                    {general, 25},
                                                    {tim, 27, 48},
                                                    {fluid, 24},
                                                    {fluid, 27},
                                                    {summed, 0},
                                                    {tim, 26},
                                                    {general, 24}}};

constexpr std::array<std::string_view, 3> band_fonts = {fluid, tim, general};

constexpr std::uint64_t development_seeds = 1000;
constexpr std::uint64_t locked_seeds = 770000;

constexpr SampleRate rate{44100};

// The register that a user would bracket: from a little under the lowest note to a little over the
// highest.
void bracket_register(const std::vector<Note>& notes, Focus& focus) {
    double low = 100.0;
    double high = 20.0;
    for (const Note& n : notes) {
        const double key = n.key.value();
        const Bend* bend = find<Bend>(n);
        low = std::min(low, key - 2.0);
        high = std::max(high, key + 2.0 + (bend ? bend->size.value() / 100.0 : 0.0));
        if (const SlideIn* s = find<SlideIn>(n); s && s->from) {
            low = std::min(low, s->from->value() - 1.0);
            high = std::max(high, s->from->value() + 1.0);
        }
    }
    focus.lowest = Pitch(std::max(23.0, low));
    focus.highest = Pitch(std::min(100.0, high));
}

}  // namespace

Result<SampledVoice*> Collection::voice(const std::string& font, int program) {
    const auto key = std::make_pair(font, program);
    if (const auto it = voices_.find(key); it != voices_.end()) return &it->second;
    auto opened = SampledVoice::open(font, program, rate);
    if (!opened) return opened.failure();
    return &voices_.emplace(key, std::move(opened).value()).first->second;
}

Result<Take> Collection::make(int number) {
    std::vector<Instrument> instruments;
    const auto all = choice_.locked ? std::span<const Instrument>(locked_ones)
                                    : std::span<const Instrument>(development);
    for (const Instrument& i : all) {
        if (i.font.find(choice_.only_font) != std::string_view::npos) instruments.push_back(i);
    }
    if (instruments.empty()) {
        return Failure{
            FailureKind::out_of_range, "no instrument has a font named " + choice_.only_font, {}};
    }
    const Instrument& which = instruments[static_cast<std::size_t>(number) % instruments.size()];
    const std::uint64_t seed =
        (choice_.locked ? locked_seeds : development_seeds) + static_cast<std::uint64_t>(number);
    PhraseSettings settings;
    settings.length = choice_.length;
    settings.unison_bends = choice_.unison_bends;
    settings.lowest = MidiKey(which.lowest);
    const Phrase phrase = write_phrase(seed, settings);
    LeadTrack lead;
    if (which.font == summed) {
        StringVoice string(draw_string(seed), rate);
        lead = render_lead(phrase, string, seed);
    } else {
        auto lead_voice = voice(std::string(which.font), which.program);
        if (!lead_voice) return lead_voice.failure();
        lead = render_lead(phrase, **lead_voice, seed);
    }
    testing::Dice dice(seed ^ 0xBA2DULL);
    const auto others = static_cast<std::size_t>(dice.whole(0, choice_.locked ? 2 : 1));
    auto staged = stage(choice_.scene, choice_.lead_over_band, phrase, std::move(lead),
                        std::string(band_fonts[others]), rate, dice);
    if (!staged) return staged.failure();
    Take take = std::move(*staged);
    take.name = std::filesystem::path(which.font).stem().string() + " " +
                std::to_string(which.program) + ", seed " + std::to_string(seed);
    bracket_register(take.truth.notes, take.focus);
    return take;
}

std::string Collection::set_name() const {
    std::string name = "clean";
    if (choice_.scene == Scene::room) name = "room";
    if (choice_.scene == Scene::band) {
        const int db = static_cast<int>(choice_.lead_over_band.value());
        name = std::string("band ") + (db > 0 ? "+" : "") + std::to_string(db) + " dB";
    }
    if (choice_.unison_bends) name += " unison";
    name += choice_.locked ? ", locked" : ", dev";
    if (!choice_.only_font.empty()) name += ", " + choice_.only_font;
    return name;
}

std::optional<std::string> missing_soundfont(bool locked) {
    for (const std::string_view font : band_fonts) {
        if (font == general && !locked) continue;
        if (!std::filesystem::exists(font)) return std::string(font) + " is not installed";
    }
    return std::nullopt;
}

}  // namespace bentline::corpus
