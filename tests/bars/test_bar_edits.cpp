// bar edits: taps, dragged beats, bar 1, bars mended; the beats that an edit does not name stay in
// time.
#include <cmath>

#include <doctest/doctest.h>

#include "engine/bars/bar_edits.h"
#include "tests/support/dice.h"

using namespace bentline;
using doctest::Approx;

namespace {

std::vector<Seconds> breathing(std::size_t count, double first, double beat, std::uint64_t seed) {
    testing::Dice dice(seed);
    std::vector<Seconds> beats;
    double t = first;
    for (std::size_t i = 0; i < count; ++i) {
        beats.push_back(Seconds(t));
        t += beat * (1.0 + 0.08 * std::sin(static_cast<double>(i) / 9.0)) *
             dice.between(0.985, 1.015);
    }
    return beats;
}

BarMap breathing_map(int bar_one = 4) {
    return BarMap::from_beats(breathing(64, 1.0, 0.4, 3), bar_one).value();
}

void check_same_time(const BarMap& a, int beat_a, const BarMap& b, int beat_b) {
    CHECK(std::abs((a.time_of(Beats(beat_a)) - b.time_of(Beats(beat_b))).value()) < 1e-9);
}

}  // namespace

TEST_CASE("taps: uneven taps with one missed and one doubled give the beats, drawn to the onsets") {
    for (std::uint64_t seed = 1; seed <= 40; ++seed) {
        testing::Dice dice(seed);
        const auto beats = breathing(40, 2.0, dice.between(0.25, 0.9), seed);
        std::vector<Seconds> taps;
        const int missed = dice.whole(2, 36);
        const int doubled = dice.whole(2, 36);
        for (int i = 0; i < 40; ++i) {
            if (i == missed) continue;
            // Uneven by up to 30 ms: within what is drawn to the onset.
            taps.push_back(beats[static_cast<std::size_t>(i)] + Seconds(dice.between(-0.03, 0.03)));
            if (i == doubled) taps.push_back(taps.back() + Seconds(0.06));
        }
        const auto read = read_taps(taps, beats);
        REQUIRE(read.ok());
        REQUIRE(read->size() == beats.size());
        int off = 0;
        for (std::size_t i = 0; i < beats.size(); ++i) {
            off += std::abs(((*read)[i] - beats[i]).value()) > 1e-9 ? 1 : 0;
        }
        CHECK(off <= 1);  // the missed one may lie beyond the reach of its onset
        const auto map = tap_along(taps, beats, Metre{3, 4});
        REQUIRE(map.ok());
        CHECK(map->position_at(beats[3]) == BarBeat{2, Beats(0.0)});
    }
}

TEST_CASE("taps: without onsets they stay where they were made; nonsense is refused") {
    const auto read = read_taps({Seconds(3.0), Seconds(1.0), Seconds(2.0)}, {});
    REQUIRE(read.ok());
    CHECK(*read == std::vector<Seconds>{Seconds(1.0), Seconds(2.0), Seconds(3.0)});
    CHECK_FALSE(read_taps({Seconds(1.0), Seconds(2.0)}, {}).ok());
    CHECK_FALSE(read_taps({Seconds(1.0), Seconds(1.01), Seconds(1.02)}, {}).ok());
    CHECK_FALSE(read_taps({Seconds(1.0), Seconds(2.0), Seconds(std::nan(""))}, {}).ok());
}

TEST_CASE("bar edits: a dragged beat moves alone") {
    for (const BarMap& map :
         {breathing_map(), BarMap::constant(Tempo(120.0), Seconds(1.0)).value()}) {
        const Seconds to = map.time_of(Beats(5.0)) + Seconds(0.1);
        const auto moved = drag_beat(map, 5, to);
        REQUIRE(moved.ok());
        CHECK(moved->time_of(Beats(5.0)) == to);
        for (int b = -8; b < 80; ++b) {
            if (b != 5) check_same_time(*moved, b, map, b);
        }
        CHECK_FALSE(drag_beat(map, 5, map.time_of(Beats(6.0))).ok());
        CHECK_FALSE(drag_beat(map, 5, Seconds(std::nan(""))).ok());
    }
}

TEST_CASE("bar edits: bar 1 is here renames the beats and moves none") {
    const BarMap map = breathing_map();
    const BarMap here = bar_one_here(map, map.time_of(Beats(7.2))).value();
    for (int b = -3; b < 50; ++b)
        check_same_time(here, b, map, b + 7);
    CHECK(here.position_at(map.time_of(Beats(7.0))) == BarBeat{1, Beats(0.0)});
    const BarMap steady = BarMap::constant(Tempo(90.0), Seconds(0.0)).value();
    const BarMap exact = bar_one_exactly_here(steady, Seconds(12.345)).value();
    CHECK(exact.time_of(Beats(0.0)).value() == Approx(12.345));
    CHECK(exact.tempo_at(Beats(3.0)).value() == Approx(90.0));
}

TEST_CASE("bar edits: double and half time keep bar 1 and are each other's inverse") {
    const BarMap map = breathing_map();
    const BarMap twice = double_time(map).value();
    for (int b = -4; b < 55; ++b)
        check_same_time(twice, 2 * b, map, b);
    const BarMap again = half_time(twice).value();
    for (int b = -8; b < 70; ++b)
        check_same_time(again, b, map, b);
    const BarMap half = half_time(map).value();
    for (int b = -2; b < 28; ++b)
        check_same_time(half, b, map, 2 * b);
    CHECK(half_time(BarMap::constant(Tempo(200.0), Seconds(1.0)).value())
              ->tempo_at(Beats(0.0))
              .value() == Approx(100.0));
    CHECK_FALSE(double_time(set_bar_metre(map, 3, Metre{2, 4}).value()).ok());
}

TEST_CASE("bar edits: one bar of two, and the rest as before") {
    const BarMap map = breathing_map();
    const BarMap mended = set_bar_metre(map, 3, Metre{2, 4}).value();
    for (int b = -4; b < 60; ++b)
        check_same_time(mended, b, map, b);
    CHECK(mended.metre_at(3) == Metre{2, 4});
    CHECK(mended.metre_at(4) == Metre{4, 4});
    CHECK(mended.position_of(Beats(10.0)) == BarBeat{4, Beats(0.0)});
    CHECK(set_bar_metre(mended, 3, Metre{4, 4}).value() == map);
    CHECK_FALSE(set_bar_metre(map, 0, Metre{2, 4}).ok());
    CHECK_FALSE(set_bar_metre(map, 3, Metre{2, 5}).ok());
}

TEST_CASE("bar edits: a bar dropped or put in shifts the later bars' numbers, not their time") {
    const BarMap map = breathing_map();
    const BarMap fewer = drop_bar(map, 3).value();
    for (int bar = 1; bar <= 3; ++bar)
        CHECK(fewer.bar_span(bar).from == map.bar_span(bar).from);
    for (int bar = 4; bar < 14; ++bar) {
        CHECK((fewer.bar_span(bar).from - map.bar_span(bar + 1).from).value() == Approx(0.0));
    }
    const BarMap more = insert_bar(map, 3).value();
    for (int bar = 4; bar < 14; ++bar) {
        CHECK((more.bar_span(bar + 1).from - map.bar_span(bar).from).value() == Approx(0.0));
    }
    const BarMap back = drop_bar(more, 3).value();
    for (int bar = 1; bar < 14; ++bar)
        CHECK((back.bar_span(bar).from - map.bar_span(bar).from).value() == Approx(0.0));
    // A constant tempo, and a metre change further on that keeps its place in time.
    const BarMap steady =
        set_bar_metre(BarMap::constant(Tempo(120.0), Seconds(0.0)).value(), 6, Metre{3, 4}).value();
    const BarMap shorter = drop_bar(steady, 2).value();
    CHECK(shorter.metre_at(5) == Metre{3, 4});
    CHECK(shorter.bar_span(5).from == steady.bar_span(6).from);
    CHECK_FALSE(drop_bar(map, 0).ok());
    CHECK_FALSE(drop_bar(steady, 5).ok());
}

TEST_CASE("bar edits: a rubato keeps its ends and has even beats inside") {
    const BarMap map = breathing_map();
    const BarMap rubato = set_free(map, {3, 6}, true).value();
    CHECK(rubato.free_at(3));
    CHECK(rubato.free_at(5));
    CHECK_FALSE(rubato.free_at(6));
    CHECK(rubato.bar_span(3).from == map.bar_span(3).from);
    CHECK(rubato.bar_span(6).from == map.bar_span(6).from);
    const Seconds beat = (rubato.bar_span(6).from - rubato.bar_span(3).from) / 12.0;
    CHECK((rubato.bar_span(4).from - rubato.bar_span(3).from).value() ==
          Approx(4.0 * beat.value()));
    const BarMap part = set_free(rubato, {4, 5}, false).value();
    CHECK(part.free_at(3));
    CHECK_FALSE(part.free_at(4));
    CHECK(part.free_at(5));
    CHECK_FALSE(set_free(map, {5, 5}, true).ok());
}
