// Turns the instruments and seeds over, so that few takes already show many of both.
#include "tests/corpus/collection.h"

#include <algorithm>
#include <array>
#include <optional>
#include <string_view>
#include <vector>

#include "tests/corpus/guitar_clips.h"
#include "tests/corpus/patch_file.h"
#include "tests/corpus/phrase.h"
#include "tests/corpus/recorded_voice.h"
#include "tests/corpus/sampled_voice.h"
#include "tests/corpus/string_voice.h"
#include "tests/corpus/waveguide.h"
#include "tests/support/dice.h"

namespace bentline::corpus {

namespace {

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

// What is drawn anew for each take is kept only until the next take asks for it.
Result<LeadVoice*> Collection::voice(const Instrument& instrument, std::uint64_t seed) {
    std::string name = name_of(instrument);
    if (const auto it = voices_.find(name); it != voices_.end()) return it->second.get();
    std::unique_ptr<LeadVoice> made;
    const auto from_tones = [&](Result<std::vector<RecordedTone>> tones) -> std::optional<Failure> {
        if (!tones) return tones.failure();
        made = std::make_unique<RecordedVoice>(std::move(*tones), rate);
        return std::nullopt;
    };
    std::optional<Failure> failed;
    switch (instrument.maker) {
        case Maker::soundfont: {
            auto opened =
                SampledVoice::open(instrument.file, instrument.program, rate, instrument.drift);
            if (!opened) return opened.failure();
            made = std::make_unique<SampledVoice>(std::move(*opened));
            break;
        }
        case Maker::patch:
            failed = from_tones(read_patch(instrument.file));
            break;
        case Maker::guitar_clips:
            failed = from_tones(guitar_clip_tones());
            break;
        case Maker::waveguide:
            name = "drawn";
            failed = from_tones(waveguide_tones(draw_waveguide(seed), seed));
            break;
        case Maker::summed_string:
            name = "drawn";
            made = std::make_unique<StringVoice>(draw_string(seed), rate);
            break;
    }
    if (failed) return *failed;
    return voices_.insert_or_assign(name, std::move(made)).first->second.get();
}

Result<Take> Collection::make(int number) {
    const Cast& cast = cast_of(choice_.seeds);
    std::vector<Instrument> instruments;
    for (const Instrument& i : cast.leads) {
        if (name_of(i).find(choice_.only_font) != std::string::npos) instruments.push_back(i);
    }
    if (instruments.empty()) {
        return Failure{
            FailureKind::out_of_range, "no instrument has a font named " + choice_.only_font, {}};
    }
    const Instrument& which = instruments[static_cast<std::size_t>(number) % instruments.size()];
    const std::uint64_t seed = cast.first_seed + static_cast<std::uint64_t>(number);
    PhraseSettings settings;
    settings.length = choice_.length;
    settings.unison_bends = choice_.unison_bends;
    settings.lowest = MidiKey(which.lowest);
    const Phrase phrase = write_phrase(seed, settings);
    const auto lead_voice = voice(which, seed);
    if (!lead_voice) return lead_voice.failure();
    LeadTrack lead = render_lead(phrase, **lead_voice, seed);
    testing::Dice dice(seed ^ 0xBA2DULL);
    const auto others =
        static_cast<std::size_t>(dice.whole(0, static_cast<int>(cast.band_fonts.size()) - 1));
    auto staged = stage(choice_.scene, choice_.lead_over_band, phrase, std::move(lead),
                        std::string(cast.band_fonts[others]), rate, dice, cast.write);
    if (!staged) return staged.failure();
    Take take = std::move(*staged);
    take.name = name_of(which) + ", seed " + std::to_string(seed);
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
    static constexpr std::array<std::string_view, 4> words = {", dev", ", locked", ", wide",
                                                              ", foreign"};
    name += words.at(static_cast<std::size_t>(choice_.seeds));
    if (!choice_.only_font.empty()) name += ", " + choice_.only_font;
    return name;
}

}  // namespace bentline::corpus
