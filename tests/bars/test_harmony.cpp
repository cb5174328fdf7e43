// key profiles and chord charts: published correlations, and charts as players write them.
#include <algorithm>
#include <array>
#include <fstream>
#include <sstream>

#include <doctest/doctest.h>

#include "engine/bars/chart.h"
#include "engine/bars/key_finder.h"
#include "tests/support/dice.h"

using namespace bentline;
using doctest::Approx;

namespace {

double correlation_of(const std::vector<KeyFit>& fits, const char* key) {
    for (const KeyFit& f : fits) {
        if (f.key == parse_key(key).value()) return f.correlation;
    }
    FAIL("no such key");
    return 0.0;
}

}  // namespace

TEST_CASE("key: the C-major profile against the other keys [Krumhansl & Kessler 1982]") {
    const auto fits = fit_keys(major_profile);
    REQUIRE(fits.size() == 24);
    CHECK(fits[0].key == Key{0, false});
    CHECK(fits[0].correlation == Approx(1.0));
    // To 0.002: the profiles are published to two decimals, their correlations to three.
    const std::pair<const char*, double> table[] = {{"G", .591},       {"F", .591},
                                                    {"Gb", -.683},     {"A minor", .651},
                                                    {"C minor", .511}, {"E minor", .536}};
    for (const auto& [key, r] : table)
        CHECK(std::abs(correlation_of(fits, key) - r) < 0.002);
}

TEST_CASE("key: a line in E flat suggests E flat, one in its relative minor the minor") {
    const auto line = [](std::initializer_list<std::pair<int, double>> notes) {
        std::vector<Note> all;
        double t = 0.0;
        for (const auto& [key, length] : notes) {
            Note n;
            n.onset = Seconds(t);
            n.offset = Seconds(t + length);
            n.key = MidiKey(key);
            all.push_back(n);
            t += length;
        }
        return all;
    };
    const auto major = fit_keys(
        line({{63, 2}, {65, 0.5}, {67, 1}, {70, 1.5}, {72, 0.5}, {68, 0.5}, {67, 1}, {63, 2}}));
    CHECK(major[0].key == Key{-3, false});
    const auto minor = fit_keys(
        line({{60, 2}, {62, 0.5}, {63, 1.5}, {67, 1.5}, {68, 0.5}, {65, 0.5}, {71, 0.5}, {60, 2}}));
    CHECK(minor[0].key == Key{-3, true});
    CHECK(fit_keys(std::vector<Note>{}).empty());
}

namespace {

// A line of eighths in major keys, at 120 beats a minute, bar 1 at 0: steps and thirds of the
// scale, chord tones on the bar's first and third beats (I, IV and V by turns), one note in seven a
// chromatic one. key_of: the major key's tonic for a bar.
template <class KeyOf>
std::vector<Note> made_line(int bars, std::uint64_t seed, KeyOf key_of) {
    static constexpr std::array<int, 7> scale = {0, 2, 4, 5, 7, 9, 11};
    static constexpr std::array<int, 4> roots = {0, 3, 4, 0};
    testing::Dice dice(seed);
    std::vector<Note> notes;
    int place = 7;
    for (int eighth = 0; eighth < 8 * bars; ++eighth) {
        if (dice.chance(0.2)) continue;
        const int bar = eighth / 8 + 1;
        place = std::clamp(place + dice.whole(-2, 2), 0, 14);
        if (eighth % 4 == 0) place = (place / 7) * 7 + (roots[bar % 4] + 2 * dice.whole(0, 2)) % 7;
        int key = 55 + key_of(bar) + scale[static_cast<std::size_t>(place % 7)] + 12 * (place / 7);
        if (eighth % 4 != 0 && dice.chance(0.15)) key += 1;
        Note n;
        n.onset = Seconds(0.25 * eighth);
        n.offset = n.onset + Seconds(dice.between(0.15, 0.25));
        n.key = MidiKey(key);
        notes.push_back(n);
    }
    return notes;
}

}  // namespace

// AABA whose bridge goes up a fourth is as common a plan as there is (common practice, no source).
TEST_CASE("key: a bridge a fourth up is found, and none where there is none") {
    const BarMap bars = BarMap::constant(Tempo(120.0), Seconds(0.0)).value();
    const Form song = parse_form("AABA").value();
    int found = 0;
    int made_up = 0;
    int tunes = 0;
    for (std::uint64_t seed = 1; seed <= 60; ++seed) {
        const int tonic = static_cast<int>(seed % 12);
        const auto one = suggest_keys(made_line(32, seed, [&](int) { return tonic; }), bars, song);
        const auto two = suggest_keys(made_line(32, seed + 100,
                                                [&](int bar) {
                                                    const bool bridge = bar > 16 && bar <= 24;
                                                    return bridge ? tonic + 5 : tonic;
                                                }),
                                      bars, song);
        REQUIRE(one.has_value());
        REQUIRE(two.has_value());
        // From G (55) up by `tonic` semitones.
        const bool right_tune = two->keys.tune->tonic() == (7 + tonic) % 12;
        tunes += one->keys.tune->tonic() == (7 + tonic) % 12 ? 1 : 0;
        made_up += one->keys.form[2].key || one->keys.form[0].key ? 1 : 0;
        found += right_tune && two->keys.form[2].key &&
                         two->keys.form[2].key->tonic() == (12 + tonic) % 12 &&
                         !two->keys.form[0].key
                     ? 1
                     : 0;
    }
    MESSAGE("bridges found ", found, ", made up ", made_up, ", tunes' keys right ", tunes,
            " of 60");
    CHECK(tunes >= 58);
    CHECK(found >= 48);
    CHECK(made_up <= 1);
}

TEST_CASE("key: chords over a section speak for its key, or for none") {
    const BarMap bars = BarMap::constant(Tempo(120.0), Seconds(0.0)).value();
    const Form song = parse_form("AABA").value();
    const auto line = made_line(32, 7, [](int bar) { return bar > 16 && bar <= 24 ? 5 : 0; });
    std::vector<std::string> chords(32);
    for (std::size_t bar = 0; bar < 32; ++bar)
        chords[bar] = bar % 2 == 0 ? "Gmaj7" : "Am7 D7";
    // A II V I of C over the bridge.
    std::vector<std::string> there = chords;
    for (std::size_t bar = 16; bar < 24; ++bar)
        there[bar] = bar % 2 == 0 ? "Cmaj7" : "Dm7 G7";
    const auto found = suggest_keys(line, bars, song, there);
    CHECK(found->keys.tune == Key{1, false});
    CHECK(found->keys.form[2].key == Key{0, false});
    // Every key once.
    const char* round[] = {"Cmaj7", "F#maj7", "Dmaj7", "Abmaj7", "Emaj7", "Bbmaj7", "Dbm7", "Gm7"};
    std::vector<std::string> nowhere = chords;
    for (std::size_t bar = 16; bar < 24; ++bar)
        nowhere[bar] = round[bar - 16];
    CHECK(suggest_keys(line, bars, song, nowhere)->keys == Keys{Key{1, false}, song});
}

TEST_CASE("key: without bars, form or notes the suggestion keeps to what it has") {
    const auto notes = made_line(8, 3, [](int) { return 3; });
    const auto plain = suggest_keys(notes, std::nullopt, parse_form("AB").value());
    REQUIRE(plain.has_value());
    CHECK(plain->keys.tune == Key{-2, false});
    CHECK_FALSE(plain->keys.form[0].key.has_value());
    CHECK_FALSE(suggest_keys({}, std::nullopt, {}).has_value());
}

TEST_CASE("chart: a section in a key of its own") {
    const auto chart = parse_chart("A | Eb6 | Fm7 |\nB in Ab\n| Ab6 |\n[C] in Gm | Gm6 |\n");
    REQUIRE(chart.ok());
    REQUIRE(chart->form.size() == 3);
    CHECK_FALSE(chart->form[0].key.has_value());
    CHECK(chart->form[1].key == Key{-4, false});
    CHECK(chart->form[2].key == Key{-2, true});
    CHECK(parse_chart("B in X\n| C |").failure().sentence.find("not a key") != std::string::npos);
}

TEST_CASE("chart: bars, repeats, sections and unknown symbols") {
    const auto chart = parse_chart(
        "# a made-up tune\n\nA\n| Eb6 C7 | Fm7 Bb7 | % | Gm7/Bb  C7b9 |\n"
        "[b]\n|: Abmaj7 | Am7b5 D7alt :|\n\nA: | Eb6 |  | Zz9 / |\r\n");
    REQUIRE(chart.ok());
    const std::vector<std::string> expected = {
        "Eb6 C7",      "Fm7 Bb7", "Fm7 Bb7", "Gm7/Bb C7b9", "Abmaj7", "Am7b5 D7alt", "Abmaj7",
        "Am7b5 D7alt", "Eb6",     "",        "Zz9 /"};
    CHECK(chart->bars == expected);
    CHECK(chart->form == Form{{"A", 1, 4}, {"B", 5, 4}, {"A", 9, 3}});
    REQUIRE(chart->unknown.size() == 1);
    CHECK(chart->unknown[0].symbol == "Zz9");
    CHECK(chart->unknown[0].line == 8);
    CHECK(chart->unknown[0].bar == 11);
}

TEST_CASE("chart: nonsense is refused with its line") {
    const auto says = [](const char* text, const char* part) {
        const auto chart = parse_chart(text);
        REQUIRE_FALSE(chart.ok());
        CHECK_MESSAGE(chart.failure().sentence.find(part) != std::string::npos,
                      chart.failure().sentence);
    };
    says("", "no bar");
    says("hello there\n", "no bar lines: write | Eb6 C7 | Fm7 Bb7 | (line 1)");
    says("| % |", "% has no bar before it");
    says("| C7 |\n|: F7 |", "never closed");
    says("| C7 :|", "was not opened");
    says("|: C7 |: F7 :|", "inside another");
    says("intro | C7 |", "stands before the first bar line");
    CHECK(parse_chart("| \xff\xfe \x01 |")->unknown.size() == 2);
}

TEST_CASE("chart: the demo's chart is read whole") {
    std::ifstream in(std::string(BENTLINE_SOURCE_DIR) +
                     "/demo_audio/last_tram_to_oddervik.chords.txt");
    std::ostringstream text;
    text << in.rdbuf();
    const auto chart = parse_chart(text.str());
    REQUIRE(chart.ok());
    CHECK(chart->bars.size() == 32);
    CHECK(to_text(chart->form) == "AABA");
    CHECK(chart->unknown.empty());
}

TEST_CASE("form: played again it goes on where it ended") {
    const Form two = repeated(parse_form("AABA").value(), 2);
    REQUIRE(two.size() == 8);
    CHECK(two[4] == Section{"A", 33, 8});
    CHECK(repeated({}, 3).empty());
}
