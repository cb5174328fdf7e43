// key profiles and chord charts: published correlations, and charts as players write them.
#include <fstream>
#include <sstream>

#include <doctest/doctest.h>

#include "engine/bars/chart.h"
#include "engine/bars/key_finder.h"

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
