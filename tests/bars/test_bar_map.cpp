// bar map: seconds, beats and bars turn into each other, by hand calculation and by the definitions
// of metre and tempo.
#include <random>

#include <doctest/doctest.h>

#include "engine/bars/bar_map.h"

using namespace bentline;
using doctest::Approx;

namespace {

BarMap at_120() {
    return BarMap::constant(Tempo(120.0), Seconds(1.5)).value();
}

// Beats that breathe: each interval within 20 % of 0.4 s.
std::vector<Seconds> breathing_beats(std::size_t count, unsigned seed) {
    std::mt19937 random(seed);
    std::uniform_real_distribution<double> breath(0.8, 1.2);
    std::vector<Seconds> beats;
    double t = 3.0;
    for (std::size_t i = 0; i < count; ++i, t += 0.4 * breath(random))
        beats.push_back(Seconds(t));
    return beats;
}

}  // namespace

TEST_CASE("bars: 120 beats a minute in 4/4 is half a second a beat [definition of tempo]") {
    const BarMap map = at_120();
    CHECK(map.time_of(BarBeat{1, Beats(0.0)}) == Seconds(1.5));
    CHECK(map.time_of(BarBeat{1, Beats(1.0)}) == Seconds(2.0));
    CHECK(map.time_of(BarBeat{7, Beats(1.5)}).value() == Approx(1.5 + 6 * 2.0 + 0.75));
    CHECK(map.position_at(Seconds(14.25)) == BarBeat{7, Beats(1.5)});
    CHECK(map.bar_span(3) == SecondsRange{Seconds(5.5), Seconds(7.5)});
    CHECK(map.tempo_at(Beats(9.3)).value() == Approx(120.0));
}

TEST_CASE("bars: what lies before bar 1 is in bar 0, then -1") {
    const BarMap map = at_120();
    CHECK(map.position_at(Seconds(1.0)) == BarBeat{0, Beats(3.0)});
    CHECK(map.position_at(Seconds(-0.5)) == BarBeat{0, Beats(0.0)});
    CHECK(map.position_at(Seconds(-1.0)) == BarBeat{-1, Beats(3.0)});
}

TEST_CASE(
    "bars: in 6/8 and 12/8 the beat is the dotted quarter [compound metre, common practice]") {
    CHECK(Metre{6, 8}.beats_per_bar() == 2);
    CHECK(Metre{12, 8}.beats_per_bar() == 4);
    CHECK(Metre{12, 8}.quarters_per_beat() == 1.5);
    CHECK(Metre{3, 4}.beats_per_bar() == 3);
    CHECK(Metre{2, 2}.quarters_per_beat() == 2.0);
    CHECK(Metre{7, 8}.beats_per_bar() == 7);
    CHECK(Metre{7, 8}.quarters_per_beat() == 0.5);
    const BarMap slow_blues = BarMap::constant(Tempo(60.0), Seconds(0.0), Metre{12, 8}).value();
    CHECK(slow_blues.bar_span(2) == SecondsRange{Seconds(4.0), Seconds(8.0)});
}

TEST_CASE("bars: an anchor a beat is kept exactly, and time runs evenly between") {
    const std::vector<Seconds> beats = {Seconds(1.0), Seconds(1.5), Seconds(2.1), Seconds(2.5)};
    const BarMap map = BarMap::from_beats(beats, 1).value();
    CHECK(map.time_of(Beats(-1.0)) == Seconds(1.0));
    CHECK(map.time_of(BarBeat{1, Beats(0.0)}) == Seconds(1.5));
    CHECK(map.time_of(Beats(0.5)).value() == Approx(1.8));
    // Beyond the ends: the mean of up to four intervals, here 1.5 s over three.
    CHECK(map.time_of(Beats(4.0)).value() == Approx(2.5 + 2 * 0.5));
    CHECK(map.time_of(Beats(-3.0)).value() == Approx(1.0 - 2 * 0.5));
}

TEST_CASE("bars: 500 bars of breathing beats go to seconds and back within a microsecond") {
    const std::vector<Seconds> beats = breathing_beats(2000, 5);
    const BarMap map = BarMap::from_beats(beats, 0).value();
    for (std::size_t i = 0; i < beats.size(); ++i) {
        const BarBeat expected{static_cast<int>(i / 4) + 1, Beats(static_cast<double>(i % 4))};
        REQUIRE(map.position_at(beats[i]) == expected);
        REQUIRE(map.time_of(expected) == beats[i]);
    }
    std::mt19937 random(7);
    std::uniform_real_distribution<double> any(-100.0, 1000.0);
    double worst = 0.0;
    for (int i = 0; i < 2000; ++i) {
        const Seconds t(any(random));
        worst = std::max(worst, std::abs((map.time_of(map.beats_at(t)) - t).value()));
        const BarBeat p = map.position_at(t);
        REQUIRE(p.beat >= Beats(0.0));
        REQUIRE(p.beat < Beats(4.0));
        worst = std::max(worst, std::abs((map.time_of(p) - t).value()));
    }
    CHECK(worst < 1e-6);  // the accuracy that the header states
}

TEST_CASE("bars: a metre that changes in the middle") {
    BarMap::Parts parts = at_120().parts();
    parts.metres = {{1, Metre{4, 4}}, {3, Metre{2, 4}}, {4, Metre{3, 4}}};
    const BarMap map = BarMap::make(parts).value();
    // Bars 1 and 2 have four beats, bar 3 two, the rest three: bar 4 begins after ten beats.
    CHECK(map.beats_of(BarBeat{3, Beats(0.0)}) == Beats(8.0));
    CHECK(map.beats_of(BarBeat{4, Beats(0.0)}) == Beats(10.0));
    CHECK(map.beats_of(BarBeat{6, Beats(1.0)}) == Beats(17.0));
    for (double b = -9.0; b < 30.0; b += 0.5) {
        CHECK(map.beats_of(map.position_of(Beats(b))).value() == Approx(b));
    }
    CHECK(map.position_of(Beats(9.5)) == BarBeat{3, Beats(1.5)});
    CHECK(map.metre_at(3) == Metre{2, 4});
    CHECK_FALSE(map.single_metre());
}

TEST_CASE("bars: maps that cannot be are refused with a sentence that names the beat") {
    const auto backwards = BarMap::from_beats({Seconds(1.0), Seconds(2.0), Seconds(1.8)}, 0);
    REQUIRE_FALSE(backwards.ok());
    CHECK(backwards.failure().kind == FailureKind::out_of_range);
    CHECK(backwards.failure().sentence.find("beat 3 at 1.800 s") != std::string::npos);
    CHECK_FALSE(BarMap::from_beats({Seconds(1.0)}, 0).ok());
    CHECK_FALSE(BarMap::constant(Tempo(0.0), Seconds(0.0)).ok());
    CHECK_FALSE(BarMap::constant(Tempo(401.0), Seconds(0.0)).ok());
    CHECK_FALSE(BarMap::constant(Tempo(std::nan("")), Seconds(0.0)).ok());
    CHECK_FALSE(BarMap::constant(Tempo(120.0), Seconds(std::nan(""))).ok());
    CHECK_FALSE(BarMap::constant(Tempo(120.0), Seconds(0.0), Metre{4, 3}).ok());
    CHECK_FALSE(at_120().with_pickup(4).ok());
    CHECK(at_120().with_pickup(3).value().pickup() == 3);
    BarMap::Parts parts = at_120().parts();
    parts.metres = {{1, Metre{}}, {5, Metre{3, 4}}, {5, Metre{2, 4}}};
    CHECK_FALSE(BarMap::make(parts).ok());
}

TEST_CASE("bars: another metre keeps the beats where they are") {
    const BarMap four = BarMap::from_beats(breathing_beats(40, 2), 4).value();
    const BarMap three = four.with_metre(Metre{3, 4}).value();
    for (double b = -4.0; b < 36.0; b += 1.0)
        CHECK(four.time_of(Beats(b)) == three.time_of(Beats(b)));
    CHECK(three.position_of(Beats(3.0)) == BarBeat{2, Beats(0.0)});
}

TEST_CASE("bars: positions are read and written as players do") {
    CHECK(parse_bar_beat("7:2.5").value() == BarBeat{7, Beats(1.5)});
    CHECK(parse_bar_beat("7").value() == BarBeat{7, Beats(0.0)});
    CHECK(parse_bar_beat("-1:4").value() == BarBeat{-1, Beats(3.0)});
    CHECK(to_text(BarBeat{7, Beats(1.5)}) == "7:2.5");
    CHECK(to_text(BarBeat{7, Beats(0.0)}) == "7:1");
    CHECK(to_text(BarBeat{12, Beats(2.0 / 3.0)}) == "12:1.667");
    for (const char* nonsense :
         {"", ":", "7:", "7:0", "7:x", "x:1", "7:1:1", "7.5:1", "7:1e99", "7:nan"}) {
        CHECK_MESSAGE(!parse_bar_beat(nonsense).ok(), nonsense);
    }
    CHECK(parse_metre("12/8").value() == Metre{12, 8});
    for (const char* nonsense : {"", "4", "4/3", "0/4", "33/4", "four/4", "4/4 "}) {
        CHECK_MESSAGE(!parse_metre(nonsense).ok(), nonsense);
    }
}

TEST_CASE("bars: a typed place is seconds or a bar and beat, and says which it lacks") {
    CHECK(parse_place("12.5", std::nullopt).value() == Seconds(12.5));
    CHECK(parse_place("7:1", at_120()).value() == Seconds(13.5));
    const auto no_map = parse_place("7:1", std::nullopt);
    REQUIRE_FALSE(no_map.ok());
    CHECK(no_map.failure().sentence.find("no bar map") != std::string::npos);
    const auto no_beat = parse_place("7:5", at_120());
    REQUIRE_FALSE(no_beat.ok());
    CHECK(no_beat.failure().sentence == "Bar 7 has no beat 5: it is a bar of 4/4 with 4 beats");
    CHECK_FALSE(parse_place("soon", at_120()).ok());
}

TEST_CASE("bars: a place just before a bar line is not printed as a beat that the bar lacks") {
    CHECK(place_name(Seconds(13.4999), at_120()) == "bar 7:1");
    CHECK(place_name(Seconds(13.4), at_120()) == "bar 6:4.8");
    CHECK(place_name(Seconds(13.4), std::nullopt) == "13.400 s");
    CHECK(place_name(Seconds(-0.0001), std::nullopt) == "0.000 s");
}
