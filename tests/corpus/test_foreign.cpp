// corpus: the instruments that no fit has seen, and those that only the wide takes have, sound as
// their truth says; and no instrument to be judged by is heard elsewhere.
#include <algorithm>
#include <cmath>
#include <fstream>
#include <set>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "tests/corpus/along_line.h"
#include "tests/corpus/collection.h"
#include "tests/corpus/contour.h"
#include "tests/corpus/guitar_clips.h"
#include "tests/corpus/other_band.h"
#include "tests/corpus/patch_file.h"
#include "tests/corpus/recorded_voice.h"
#include "tests/corpus/repetition.h"
#include "tests/corpus/waveguide.h"
#include "tests/support/tones.h"

using namespace bentline;
using namespace bentline::corpus;

namespace {

constexpr SampleRate rate{44100};
const std::string patches = "/usr/share/midi/freepats/Tone_000/";

bool files_missing(Seeds seeds) {
    if (const auto missing = missing_file(seeds)) {
        MESSAGE("skipped: " << *missing);
        return true;
    }
    return false;
}

// Plain, then bent by 200 cents from 0.1 to 0.25 s, on keys a fifth apart: sizes of the errors,
// rising.
std::vector<double> errors_of(RecordedVoice& voice, int lowest) {
    std::vector<double> all;
    for (int key = lowest; key <= 82; key += 7) {
        for (const double bend : {0.0, 200.0}) {
            const Contour line{Pitch(key), {{{0.1_s, 0.25_s}, Cents(bend), Shape::cosine}}, {}};
            const Sounded s =
                voice.play(MidiKey(key), 76, 0.6_s, [&](Seconds t) { return line.at(t); });
            for (const double e : errors_along(s, rate))
                all.push_back(std::abs(e));
        }
    }
    std::sort(all.begin(), all.end());
    return all;
}

double share_at(const std::vector<double>& rising, double share) {
    REQUIRE(rising.size() > 50);
    return rising[static_cast<std::size_t>(share * static_cast<double>(rising.size() - 1))];
}

}  // namespace

// Counts and roots were read off the files' headers by other means.
TEST_CASE("corpus: patches hold the tones that their headers list [freepats]") {
    if (files_missing(Seeds::foreign)) return;
    struct Listed {
        const char* file;
        std::size_t tones;
        int lowest, highest;
    };
    for (const Listed& l : {Listed{"025_Steel_Guitar.pat", 10, 40, 81},
                            Listed{"027_Clean_Electric_Guitar.pat", 9, 40, 76},
                            Listed{"029_Overdriven_Guitar.pat", 6, 47, 76}}) {
        const auto tones = read_patch(patches + l.file);
        REQUIRE(tones);
        CHECK(tones->size() == l.tones);
        std::vector<int> keys;
        for (const RecordedTone& t : *tones)
            keys.push_back(t.key.value());
        CHECK(*std::min_element(keys.begin(), keys.end()) == l.lowest);
        CHECK(*std::max_element(keys.begin(), keys.end()) == l.highest);
    }
    // Its tones sound at the pitch that the headers state: within 25 cents (samplers' tuning, no
    // source).
    const auto steel = read_patch(patches + "025_Steel_Guitar.pat");
    REQUIRE(steel);
    for (const RecordedTone& t : *steel) {
        const SampleRate own(static_cast<int>(t.rate));
        const auto from = static_cast<std::size_t>(0.1 * t.rate);
        const auto size = static_cast<std::size_t>(0.1 * t.rate);
        const auto f =
            repetition_rate(std::span(t.samples).subspan(from, size), own, frequency(Pitch(t.key)));
        REQUIRE(f);
        CHECK(std::abs(interval(frequency(Pitch(t.key)), *f).value()) < 25.0);
    }
}

TEST_CASE("corpus: a patch that is cut short or missing is refused in one sentence") {
    CHECK(read_patch("no_such.pat").failure().kind == FailureKind::not_found);
    const std::string cut = "cut_short.pat";
    std::ofstream(cut, std::ios::binary) << std::string(250, '\1');
    CHECK(read_patch(cut).failure().kind == FailureKind::damaged);
}

TEST_CASE("corpus: recorded guitars sound as the truth says") {
    if (files_missing(Seeds::foreign) || files_missing(Seeds::wide)) return;
    for (const char* file :
         {"025_Steel_Guitar.pat", "026_Jazz_Guitar.pat", "027_Clean_Electric_Guitar.pat",
          "028_Muted_Electric_Guitar.pat", "029_Overdriven_Guitar.pat", "065_Alto_Sax.pat"}) {
        auto tones = read_patch(patches + file);
        REQUIRE(tones);
        RecordedVoice voice(std::move(*tones), rate);
        const auto errors = errors_of(voice, 45);
        CHECK_MESSAGE(share_at(errors, 0.5) < 0.5, file);
        CHECK_MESSAGE(share_at(errors, 0.95) < 4.0, file);
    }
    // Half a second of a chord's first string, looped: its other strings ring along.
    auto clips = guitar_clip_tones();
    REQUIRE(clips);
    RecordedVoice voice(std::move(*clips), rate);
    const auto errors = errors_of(voice, 54);
    CHECK(share_at(errors, 0.5) < 1.5);
    CHECK(share_at(errors, 0.95) < 4.0);
}

TEST_CASE("corpus: the waveguide's partials are harmonic and on the line, within half a cent") {
    for (std::uint64_t seed = 1; seed <= 3; ++seed) {
        RecordedVoice voice(waveguide_tones(draw_waveguide(seed), seed), rate);
        const auto errors = errors_of(voice, 45);
        CHECK(share_at(errors, 0.5) < 0.1);
        CHECK(share_at(errors, 0.95) < 0.5);
    }
}

// The tone's fundamental falls by 60 dB in the time drawn: by a sixth of it in 10 dB.
TEST_CASE("corpus: a waveguide's fundamental falls as fast as it was told to") {
    WaveguideMake make = draw_waveguide(1);
    make.ring = Seconds(3.0);
    make.drive = Decibels(-40.0);  // no limit that would hold the level up
    const auto tones = waveguide_tones(make, 1);
    const auto tone = std::find_if(tones.begin(), tones.end(),
                                   [](const RecordedTone& t) { return t.key == MidiKey(55); });
    REQUIRE(tone != tones.end());
    const double f = frequency(Pitch(55)).value();
    const auto level = [&](double at) {
        double re = 0.0;
        double im = 0.0;
        const auto from = static_cast<std::size_t>(at * rate.value());
        for (std::size_t i = 0; i < 4410; ++i) {
            const double turn = 2.0 * std::numbers::pi * f * static_cast<double>(i) / rate.value();
            re += static_cast<double>(tone->samples[from + i]) * std::cos(turn);
            im += static_cast<double>(tone->samples[from + i]) * std::sin(turn);
        }
        return 20.0 * std::log10(std::hypot(re, im));
    };
    // At 196 Hz the time drawn for 200 Hz is longer by (200 / 196)^0.6.
    const double expected = 60.0 / (3.0 * std::pow(200.0 / f, 0.6));
    CHECK(level(0.3) - level(1.3) == doctest::Approx(expected).epsilon(0.05));
}

TEST_CASE("corpus: what is judged by is heard in no other set") {
    std::set<std::string> elsewhere;
    for (const Seeds seeds : {Seeds::development, Seeds::locked, Seeds::wide})
        for (const Instrument& i : cast_of(seeds).leads)
            elsewhere.insert(name_of(i));
    REQUIRE(elsewhere.size() > 15);
    for (const Instrument& i : cast_of(Seeds::foreign).leads)
        CHECK_MESSAGE(!elsewhere.contains(name_of(i)), name_of(i));
}

TEST_CASE("corpus: other bands hold their organ's chords, and beat time where they have drums") {
    std::size_t held = 0;
    std::size_t straight = 0;
    for (std::uint64_t seed = 1; seed <= 40; ++seed) {
        const Phrase phrase = write_phrase(seed);
        testing::Dice dice(seed);
        Truth truth;
        for (const PhraseNote& n : phrase.notes)
            truth.notes.push_back(n.truth);
        const auto parts = write_other_band(phrase, truth, dice);
        REQUIRE(parts.size() >= 3);
        const double bar = 240.0 / phrase.beats_per_minute;
        if (parts[0].program == 16) {
            ++held;
            for (const BandNote& n : parts[0].notes)
                CHECK(n.length.value() > 0.3 * bar);
        }
        CHECK(parts[2].drums);
        const auto snare = std::count_if(parts[2].notes.begin(), parts[2].notes.end(),
                                         [](const BandNote& n) { return n.key == 38; });
        straight += snare > 0 ? 1 : 0;
        for (const BandPart& p : parts)
            for (const BandNote& n : p.notes)
                CHECK(n.length > Seconds(0));
    }
    CHECK(held > 0);
    CHECK(straight > 5);
}
