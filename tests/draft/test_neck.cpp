// neck: frets, tunings and where a pitch lies.
#include <cmath>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "engine/draft/neck.h"

using namespace bentline;

TEST_CASE(
    "neck: frets lie by the twelfth-root rule, scale 648 mm [computed from L(1 - 2^(-n/12))]") {
    struct Row {
        int fret;
        double mm;
    };
    // Two decimals in the table: half of the last one is the tolerance.
    for (const Row& row : {Row{0, 0.0},
                           {1, 36.37},
                           {2, 70.70},
                           {3, 103.10},
                           {5, 162.55},
                           {7, 215.51},
                           {12, 324.00},
                           {19, 431.76},
                           {24, 486.00}}) {
        CHECK(std::abs(fret_distance(648.0, row.fret) - row.mm) <= 0.005);
    }
    // The luthier's divisor: each fret takes 1/17.817154 of what is left of the string.
    double left = 648.0;
    for (int n = 1; n <= 24; ++n) {
        left -= left / 17.817154;
        CHECK(648.0 - fret_distance(648.0, n) == doctest::Approx(left).epsilon(1e-6));
    }
}

TEST_CASE("neck: standard tuning is E2 A2 D3 G3 B3 E4 [common practice, no source]") {
    const Neck neck = standard_neck();
    const int want[] = {64, 59, 55, 50, 45, 40};
    for (int string = 1; string <= 6; ++string) {
        CHECK(key_at(neck, {string, 0}) == MidiKey(want[string - 1]));
        CHECK(key_at(neck, {string, 12}) == MidiKey(want[string - 1] + 12));
    }
    CHECK(key_range(neck) == Range<int>{40, 64 + 22 + 1});
    CHECK(drop_d_neck().open.back() == MidiKey(38));
    CHECK(seven_string_neck().open.back() == MidiKey(35));
    CHECK(eight_string_neck().open.back() == MidiKey(30));
}

TEST_CASE("neck: every spot of a pitch sounds it, and no other does") {
    Neck capo = standard_neck();
    capo.capo = 3;
    for (const Neck& neck : {standard_neck(), drop_d_neck(), eight_string_neck(), capo}) {
        for (int key = 20; key <= 100; ++key) {
            std::size_t count = 0;
            for (int string = 1; string <= neck.strings(); ++string) {
                for (int fret = 0; fret <= neck.last_fret(); ++fret) {
                    if (key_at(neck, {string, fret}) == MidiKey(key)) ++count;
                }
            }
            const auto spots = spots_of(neck, MidiKey(key));
            CHECK(spots.size() == count);
            for (const Spot& spot : spots)
                CHECK(key_at(neck, spot) == MidiKey(key));
        }
    }
    // E4 in standard tuning: open first, 5th fret of the second, 9th, 14th, 19th; not the 24th.
    CHECK(spots_of(standard_neck(), MidiKey(64)) ==
          std::vector<Spot>{{1, 0}, {2, 5}, {3, 9}, {4, 14}, {5, 19}});
    CHECK(spots_of(capo, MidiKey(66)).empty() == false);
    CHECK(spots_of(capo, MidiKey(67)).front() == Spot{1, 0});  // the open first with the capo on 3
    CHECK(spots_of(standard_neck(), MidiKey(39)).empty());
    CHECK(spots_of(standard_neck(), MidiKey(87)).empty());
}

TEST_CASE("neck: tunings are read from note names") {
    CHECK(*parse_tuning("E A D G B E") == standard_neck());
    CHECK(*parse_tuning("D A D G B E") == drop_d_neck());
    CHECK(*parse_tuning("B E A D G B E") == seven_string_neck());
    CHECK(*parse_tuning("F# B E A D G B E") == eight_string_neck());
    CHECK(*parse_tuning("E2 A2 D3 G3 B3 E4") == standard_neck());
    CHECK(
        *parse_tuning("  eb Ab db gb bb eb ") ==
        *make_neck({MidiKey(63), MidiKey(58), MidiKey(54), MidiKey(49), MidiKey(44), MidiKey(39)}));
    CHECK(*parse_tuning("D A D F# A D") == *make_neck({MidiKey(62), MidiKey(57), MidiKey(54),
                                                       MidiKey(50), MidiKey(45), MidiKey(38)}));
    CHECK(*parse_tuning("C G C G C E") == *make_neck({MidiKey(64), MidiKey(60), MidiKey(55),
                                                      MidiKey(48), MidiKey(43), MidiKey(36)}));
}

TEST_CASE("neck: what is no neck is refused with a sentence") {
    for (const char* names : {"", "E A D G B", "E A D G B E A D G", "E A D G B H", "E A D G B E4x",
                              "E A D G B E11", "E A D G B 4", "E9 A9 D9 G9 B9 E9"}) {
        CAPTURE(std::string(names));
        const auto neck = parse_tuning(names);
        REQUIRE_FALSE(neck.ok());
        CHECK(neck.failure().kind == FailureKind::out_of_range);
        CHECK(neck.failure().sentence.find("; ") != std::string::npos);
    }
    const auto open = standard_neck().open;
    CHECK_FALSE(make_neck(open, -1).ok());
    CHECK_FALSE(make_neck(open, 11, 22).ok());
    CHECK(make_neck(open, 10, 22).ok());
    CHECK_FALSE(make_neck(open, 0, 11).ok());
    CHECK_FALSE(make_neck(open, 0, 37).ok());
}
