// corpus: the truth is true. What was sounded is measured again by two methods that are independent
// of the engine and of each other: the lag of best repetition, and partials demodulated along the
// claimed line.
#include <algorithm>
#include <cmath>
#include <complex>
#include <filesystem>
#include <numbers>
#include <span>
#include <vector>

#include <doctest/doctest.h>

#include "tests/corpus/along_line.h"
#include "tests/corpus/collection.h"
#include "tests/corpus/phrase.h"
#include "tests/corpus/repetition.h"
#include "tests/corpus/sampled_voice.h"
#include "tests/corpus/scoreboard.h"
#include "tests/corpus/string_voice.h"
#include "tests/corpus/take.h"
#include "tests/support/tones.h"

using namespace bentline;
using namespace bentline::corpus;
using testing::audio_of;

namespace {

constexpr SampleRate rate{44100};

struct Tried {
    const char* font;
    int program;
};
constexpr Tried instruments[] = {{"/usr/share/sounds/sf2/FluidR3_GM.sf2", 26},
                                 {"/usr/share/sounds/sf2/FluidR3_GM.sf2", 27},
                                 {"/usr/share/sounds/sf2/TimGM6mb.sf2", 25},
                                 {"/usr/share/sounds/sf2/TimGM6mb.sf2", 27}};

double share_within(const std::vector<double>& errors, double cents) {
    const auto n =
        std::count_if(errors.begin(), errors.end(), [&](double e) { return std::abs(e) <= cents; });
    return static_cast<double>(n) / static_cast<double>(errors.size());
}

double median_size(std::vector<double> errors) {
    for (double& e : errors)
        e = std::abs(e);
    return median(std::move(errors));
}

// A tone of `length`, its pitch moved by `line`, on every instrument and a key every fourth.
template <class MakeLine>
std::vector<double> errors_on_all(Seconds length, const MakeLine& make_line) {
    std::vector<double> all;
    for (const Tried& i : instruments) {
        auto voice = SampledVoice::open(i.font, i.program, rate);
        REQUIRE(voice);
        for (int key = 45; key <= 81; key += 4) {
            const Contour contour = make_line(MidiKey(key));
            const Sounded s =
                voice->play(MidiKey(key), 76, length, [&](Seconds t) { return contour.at(t); });
            const auto errors = errors_along(s, rate);
            all.insert(all.end(), errors.begin(), errors.end());
        }
    }
    return all;
}

double level(const std::vector<float>& x, Seconds from, Seconds to) {
    const auto a = static_cast<std::size_t>(std::max(0.0, from.value()) * rate.value());
    const auto b = std::min(x.size(), static_cast<std::size_t>(to.value() * rate.value()));
    double power = 1e-20;
    for (std::size_t i = a; i < b; ++i)
        power += static_cast<double>(x[i]) * x[i];
    return 10.0 * std::log10(power / static_cast<double>(std::max<std::size_t>(1, b - a)));
}

bool fonts_missing() {
    if (const auto missing = missing_file(Seeds::development)) {
        MESSAGE("skipped: " << *missing);
        return true;
    }
    return false;
}

}  // namespace

TEST_CASE("corpus: the lag of best repetition is right to 0.1 cent on a harmonic tone") {
    for (double f : {82.4069, 146.8324, 440.0, 1318.5102}) {
        const auto x = testing::plucked(Hertz(f), 0.3_s, rate);
        const auto measured =
            repetition_rate(std::span(x).subspan(2205, 3528), rate, Hertz(f * 1.01));
        REQUIRE(measured);
        CHECK(std::abs(interval(Hertz(f), *measured).value()) < 0.1);
    }
    CHECK_FALSE(repetition_rate(testing::noise(-20.0_dB, 0.08_s, rate, 3), rate, 220.0_Hz));
}

TEST_CASE("corpus: the second measurement finds an error of 7 cents that was put in") {
    Sounded s;
    s.samples = testing::plucked(220.0_Hz * std::exp2(7.0 / 1200.0), 0.5_s, rate);
    s.pluck = Frames(0);
    s.pitch.assign(s.samples.size() / pitch_block + 1, pitch_of(220.0_Hz));
    CHECK(median(errors_along(s, rate)) == doctest::Approx(7.0).epsilon(0.02));
}

// Real samples are stiff strings, whose two pitches (of repetition, of the partials) part by a cent
// or two: hence 2 cents, and a tail.
TEST_CASE("corpus: plain tones sound as the truth says, within 2 cents") {
    if (fonts_missing()) return;
    const auto e = errors_on_all(0.6_s, [](MidiKey k) { return Contour{Pitch(k), {}, {}}; });
    CHECK(median_size(e) < 0.5);
    CHECK(share_within(e, 2.0) > 0.95);
    CHECK(share_within(e, 5.0) > 0.98);
}

TEST_CASE("corpus: bent, slid and shaken tones sound as the truth says") {
    if (fonts_missing()) return;
    const auto bent = errors_on_all(0.7_s, [](MidiKey k) {
        return Contour{Pitch(k),
                       {{{0.1_s, 0.25_s}, Cents(200), Shape::cosine},
                        {{0.4_s, 0.55_s}, Cents(0), Shape::cosine}},
                       {}};
    });
    CHECK(median_size(bent) < 1.0);
    CHECK(share_within(bent, 5.0) > 0.95);
    const auto shaken = errors_on_all(0.7_s, [](MidiKey k) {
        return Contour{Pitch(k), {}, {{{0.1_s, 0.7_s}, 5.5_Hz, Cents(40), 0.1_s, false}}};
    });
    CHECK(median_size(shaken) < 1.5);
    CHECK(share_within(shaken, 5.0) > 0.95);
    const auto slid = errors_on_all(0.7_s, [](MidiKey k) {
        Contour c{Pitch(k), {}, {}};
        c.add_frets(0.1_s, Cents(700), 0.03_s, 0.01_s);
        return c;
    });
    CHECK(median_size(slid) < 1.0);
    CHECK(share_within(slid, 5.0) > 0.93);
}

TEST_CASE("corpus: summed strings sound as the truth says, stiff ones too") {
    std::vector<double> all;
    for (std::uint64_t seed = 1; seed <= 6; ++seed) {
        StringVoice string(draw_string(seed), rate);
        for (int key = 41; key <= 81; key += 8) {
            Contour c{Pitch(key), {{{0.1_s, 0.25_s}, Cents(200), Shape::cosine}}, {}};
            c.shakes.push_back({{0.3_s, 0.7_s}, 5.0_Hz, Cents(30), 0.1_s, false});
            const Sounded s =
                string.play(MidiKey(key), 76, 0.7_s, [&](Seconds t) { return c.at(t); });
            const auto errors = errors_along(s, rate);
            all.insert(all.end(), errors.begin(), errors.end());
        }
    }
    CHECK(median_size(all) < 0.5);
    CHECK(share_within(all, 3.0) > 0.95);
}

TEST_CASE("corpus: notes in tune are where ISO 16 puts them, 150 ms after the pluck") {
    if (fonts_missing()) return;
    for (const Tried& i : instruments) {
        auto voice = SampledVoice::open(i.font, i.program, rate);
        REQUIRE(voice);
        for (int key = 43; key <= 82; key += 3) {
            const Sounded s =
                voice->play(MidiKey(key), 76, 0.3_s, [&](Seconds) { return Pitch(key); });
            const auto from = static_cast<std::size_t>(s.pluck.value()) + 4410;
            const auto low = low_partials(s.samples, rate, frequency(Pitch(key)));
            const auto f =
                repetition_rate(std::span(low).subspan(from, 4410), rate, frequency(Pitch(key)));
            REQUIRE(f);
            // 1.5: a sample's pitch moves by a cent or two within the 100 ms that are measured.
            CHECK(std::abs(interval(frequency(Pitch(key)), *f).value()) < 1.5);
        }
    }
}

TEST_CASE("corpus: whole takes begin, sound and end as their notes say") {
    if (fonts_missing()) return;
    Collection collection(SetChoice{});
    std::size_t begins = 0, begins_right = 0, ends = 0, ends_right = 0;
    std::vector<double> errors;
    for (int number = 0; number < 6; ++number) {
        const auto take = collection.make(number);
        REQUIRE(take);
        const auto& x = take->audio.channels[0];
        const auto& notes = take->truth.notes;
        for (std::size_t i = 0; i < notes.size(); ++i) {
            const Note& n = notes[i];
            CHECK(n.onset < n.offset);
            const bool silence_before = i == 0 || n.onset - notes[i - 1].offset > 0.08_s;
            const bool silence_after =
                i + 1 == notes.size() || notes[i + 1].onset - n.offset > 0.08_s;
            const double loud = n.level->value();
            if (silence_before) {
                ++begins;  // nothing of it 3 ms before, 20 dB under its loudest or more from 8 ms
                           // on
                begins_right += level(x, n.onset - 0.008_s, n.onset - 0.003_s) < loud - 17.0 &&
                                level(x, n.onset + 0.004_s, n.onset + 0.012_s) > loud - 20.0;
            }
            if (silence_after) {
                ++ends;
                const double before = level(x, n.offset - 0.05_s, n.offset - 0.03_s);
                ends_right += level(x, n.offset + 0.01_s, n.offset + 0.02_s) < before - 17.0 ||
                              before < loud - 30.0;
            }
            // The rows of a plain stretch against the sound itself.
            if (!n.inflections.empty() || n.offset - n.onset < 0.14_s) continue;
            const Seconds middle = row_step * std::round((n.onset + 0.085_s) / row_step);
            const auto row =
                take->truth.rows[static_cast<std::size_t>(std::lround(middle / row_step))];
            REQUIRE(row);
            const auto from = static_cast<std::size_t>((middle - 0.035_s).value() * rate.value());
            const auto low = low_partials(std::span(x).subspan(from - 2205, 5292), rate, *row);
            const auto f = repetition_rate(std::span(low).subspan(2205), rate, *row);
            if (f) errors.push_back(interval(*row, *f).value());
        }
    }
    CHECK(begins >= 10);
    CHECK(begins_right >= begins - begins / 10);  // scratches of pick and finger sound before some
    CHECK(ends >= 10);
    CHECK(ends_right >= ends - ends / 10);
    CHECK(errors.size() >= 30);
    CHECK(median_size(errors) < 1.0);
    CHECK(share_within(errors, 2.5) > 0.9);
}

TEST_CASE("corpus: a take is the same each time it is made, another number another take") {
    if (fonts_missing()) return;
    Collection one(SetChoice{});
    Collection two(SetChoice{});
    const auto a = one.make(1);
    const auto elsewhere = two.make(2);
    const auto b = two.make(1);
    REQUIRE(a);
    REQUIRE(b);
    REQUIRE(elsewhere);
    CHECK(a->audio.channels[0] == b->audio.channels[0]);
    CHECK(a->truth.notes == b->truth.notes);
    CHECK(a->truth.notes != elsewhere->truth.notes);
}

TEST_CASE("corpus: the phrases hold every inflection, and its truth fits the notes") {
    std::vector<std::size_t> seen(kind_count, 0);
    for (std::uint64_t seed = 1; seed <= 30; ++seed) {
        const Phrase p = write_phrase(seed);
        for (std::size_t i = 0; i + 1 < p.notes.size(); ++i) {
            CHECK(p.notes[i].truth.onset < p.notes[i + 1].truth.onset);
            CHECK(p.notes[i].truth.offset <= p.notes[i + 1].truth.onset + Seconds(1e-9));
        }
        for (const PhraseNote& n : p.notes) {
            for (const Inflection& i : n.truth.inflections)
                ++seen[i.what.index()];
            // A slide to the next and the next note share a stroke.
            if (find<SlideToNext>(n.truth)) {
                const auto next = static_cast<std::size_t>(&n - p.notes.data()) + 1;
                REQUIRE(next < p.notes.size());
                CHECK(p.notes[next].stroke == n.stroke);
            }
        }
    }
    for (std::size_t k = 0; k < kind_count; ++k)
        CHECK(seen[k] >= 5);
}

TEST_CASE("corpus: the string beside is fretted where its bend arrives, and changes no note") {
    PhraseSettings unison;
    unison.unison_bends = true;
    std::size_t seen = 0;
    for (std::uint64_t seed = 1; seed <= 60; ++seed) {
        const Phrase p = write_phrase(seed, unison);
        const Phrase plain = write_phrase(seed);
        REQUIRE(p.notes.size() == plain.notes.size());
        for (std::size_t i = 0; i < p.notes.size(); ++i)
            CHECK(p.notes[i].truth == plain.notes[i].truth);
        for (const Beside& b : p.beside) {
            const auto bent =
                std::find_if(p.notes.begin(), p.notes.end(),
                             [&](const PhraseNote& n) { return n.stroke == b.stroke; });
            REQUIRE(bent != p.notes.end());
            const Bend* bend = find<Bend>(bent->truth);
            REQUIRE(bend);
            const double arrives = 100.0 * (b.key.value() - bent->truth.key.value());
            CHECK(std::abs(bend->size.value() - arrives) <= 15.0);
            ++seen;
        }
    }
    CHECK(seen >= 5);
}

TEST_CASE(
    "corpus: in a unison bend the string beside sounds the goal, and the truth is the bent one's") {
    if (fonts_missing()) return;
    SetChoice unison;
    unison.unison_bends = true;
    Collection with(unison);
    Collection without(SetChoice{});
    std::size_t seen = 0;
    for (int number = 0; number < 12 && seen == 0; ++number) {
        const auto a = with.make(number);
        const auto b = without.make(number);
        REQUIRE(a);
        REQUIRE(b);
        CHECK(a->truth.notes == b->truth.notes);
        CHECK(a->truth.rows == b->truth.rows);
        for (const Note& n : a->truth.notes) {
            const Bend* bend = find<Bend>(n);
            if (!bend || !bend->start || (*bend->start - n.onset) < 0.05_s) continue;
            // The goal's fundamental over the 50 ms before the bend begins, with and without.
            const double goal =
                frequency(Pitch(n.key) + Cents(100.0 * std::round(bend->size.value() / 100.0)))
                    .value();
            const auto tone = [&](const std::vector<float>& x) {
                const auto from =
                    static_cast<std::size_t>((*bend->start - 0.05_s).value() * rate.value());
                std::complex<double> sum = 0.0;
                for (std::size_t i = 0; i < 2205; ++i) {
                    sum += static_cast<double>(x[from + i]) *
                           std::polar(1.0, -2.0 * std::numbers::pi * goal * static_cast<double>(i) /
                                               rate.value());
                }
                return 20.0 * std::log10(std::abs(sum) + 1e-9);
            };
            if (a->audio.channels[0] == b->audio.channels[0]) continue;
            const double louder = tone(a->audio.channels[0]) - tone(b->audio.channels[0]);
            if (louder > 3.0) ++seen;
        }
    }
    CHECK(seen >= 1);
}
