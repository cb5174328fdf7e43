// pitch wheel: positions by MIDI 1.0, and courses that follow what was measured.
#include <algorithm>
#include <cmath>
#include <numbers>

#include <doctest/doctest.h>

#include "engine/export/wheel.h"

using namespace bentline;
using doctest::Approx;

namespace {

Note note(double from, double to, int key, InflectionKind what) {
    Note n;
    n.onset = Seconds(from);
    n.offset = Seconds(to);
    n.key = MidiKey(key);
    n.inflections.push_back({std::move(what), {}, ""});
    return n;
}

// The course's distance at a time, in cents.
double at(const std::vector<WheelPoint>& course, double time) {
    double away = 0.0;
    for (const WheelPoint& p : course) {
        if (p.time.value() <= time + 1e-9) away = p.away.value();
    }
    return away;
}

}  // namespace

TEST_CASE("wheel: +100 cents at a range of 2 semitones is 12288, the centre 8192 [MIDI 1.0]") {
    CHECK(wheel_position(Cents(0.0), 2) == 8192);
    CHECK(wheel_position(Cents(100.0), 2) == 12288);
    CHECK(wheel_position(Cents(-200.0), 2) == 0);
    CHECK(wheel_position(Cents(200.0), 2) ==
          16383);  // one step short of 200 cents: the wheel's end
    CHECK(wheel_position(Cents(100.0), 12) == 8192 + 683);  // 8192 / 12 = 682.7
    CHECK(wheel_position(Cents(9999.0), 12) == 16383);
    CHECK(wheel_range(Cents(180.0)) == 2);
    CHECK(wheel_range(Cents(201.0)) == 12);
    CHECK(wheel_range(Cents(1201.0)) == 24);
}

TEST_CASE("wheel: a bend rises through its start and peak, holds, and is let down") {
    const SecondsRange down{Seconds(1.6), Seconds(1.8)};
    const auto course = wheel_course(
        note(1.0, 2.0, 60, Bend{Cents(150.0), Seconds(1.1), Seconds(1.3), true, false, down}), {});
    CHECK(at(course, 1.09) == 0.0);
    CHECK(at(course, 1.2) == Approx(75.0).epsilon(0.01));  // half way, by the cosine's symmetry
    CHECK(at(course, 1.3) == Approx(150.0).epsilon(0.003));
    CHECK(at(course, 1.55) == Approx(150.0).epsilon(0.003));
    CHECK(at(course, 1.7) == Approx(75.0).epsilon(0.01));
    CHECK(std::abs(at(course, 1.9)) < 0.5);
    // Continuous: the steepest of a raised cosine is pi / 2 of the mean slope.
    const double steepest = 150.0 / 0.2 * std::numbers::pi / 2 * 0.005;
    for (std::size_t i = 1; i < course.size(); ++i) {
        CHECK(std::abs((course[i].away - course[i - 1].away).value()) < steepest * 1.01 + 0.25);
    }
}

TEST_CASE("wheel: a pre-bent note is up at its onset") {
    const auto held =
        wheel_course(note(1.0, 2.0, 60, Bend{Cents(200.0), {}, {}, false, true, {}}), {});
    REQUIRE(held.size() == 1);
    CHECK(held[0].time == Seconds(1.0));
    CHECK(held[0].away == Cents(200.0));
    const SecondsRange down{Seconds(1.3), Seconds(1.5)};
    const auto let =
        wheel_course(note(1.0, 2.0, 60, Bend{Cents(200.0), {}, {}, true, true, down}), {});
    CHECK(at(let, 1.0) == 200.0);
    CHECK(at(let, 1.4) == Approx(100.0).epsilon(0.01));
    CHECK(std::abs(at(let, 1.6)) < 0.5);
}

TEST_CASE("wheel: a slide in steps through the semitones and arrives at the key") {
    const SecondsRange span{Seconds(1.0), Seconds(1.12)};
    const auto up = wheel_course(note(1.0, 2.0, 64, SlideIn{MidiKey(61), span}), {});
    REQUIRE(up.size() == 4);
    const double expected[][2] = {{1.0, -300.0}, {1.04, -200.0}, {1.08, -100.0}, {1.12, 0.0}};
    for (std::size_t i = 0; i < 4; ++i) {
        CHECK(up[i].time.value() == Approx(expected[i][0]));
        CHECK(up[i].away.value() == expected[i][1]);
    }
    const auto down = wheel_course(note(1.0, 2.0, 60, SlideIn{MidiKey(65), {}}), {});
    CHECK(down.front().away == Cents(500.0));
    CHECK(down.back().away == Cents(0.0));
    CHECK(wheel_course(note(1.0, 2.0, 60, SlideIn{}), {}).empty());  // from nowhere
}

TEST_CASE("wheel: a slide out sounds each semitone; one to the next note stops short of it") {
    const SecondsRange span{Seconds(1.7), Seconds(2.0)};
    const auto out = wheel_course(note(1.0, 2.0, 60, SlideOut{MidiKey(58), span}), {});
    REQUIRE(out.size() == 2);
    CHECK(out[0].time.value() == Approx(1.8));
    CHECK(out[1].time.value() == Approx(1.9));
    CHECK(out[1].away == Cents(-200.0));
    const auto on = wheel_course(note(1.0, 2.0, 60, SlideToNext{span}), MidiKey(63));
    REQUIRE(on.size() == 2);
    CHECK(on[0].time.value() == Approx(1.8));
    CHECK(on[1].away == Cents(200.0));  // the third semitone is the next note
    CHECK(wheel_course(note(1.0, 2.0, 60, SlideToNext{span}), std::nullopt).empty());
}

TEST_CASE("wheel: a vibrato has its rate, depth and span") {
    const SecondsRange span{Seconds(1.2), Seconds(2.2)};
    const auto course =
        wheel_course(note(1.0, 2.5, 60, Vibrato{Hertz(5.0), Cents(40.0), span}), {});
    CHECK(at(course, 1.19) == 0.0);
    CHECK(at(course, 1.25) == Approx(40.0).epsilon(0.01));  // a quarter of the first cycle
    CHECK(at(course, 1.35) == Approx(-40.0).epsilon(0.01));
    CHECK(std::abs(at(course, 2.3)) < 0.5);
    int rises = 0;
    for (std::size_t i = 1; i < course.size(); ++i) {
        if (course[i - 1].away < Cents(20.0) && course[i].away >= Cents(20.0)) ++rises;
    }
    CHECK(rises == 5);  // five cycles in a second
    CHECK(reach(course).value() == Approx(40.0).epsilon(0.01));
}

TEST_CASE("wheel: a trill alternates between its key and the neighbour") {
    const auto course = wheel_course(note(1.0, 1.5, 60, Trill{2}), {});
    REQUIRE(course.size() > 4);
    for (std::size_t i = 0; i < course.size(); ++i) {
        CHECK(course[i].away == Cents(i % 2 == 0 ? 200.0 : 0.0));
    }
}

TEST_CASE("wheel: a plain, clipped or accented note stays on its key") {
    Note n = note(0.0, 1.0, 60, Staccato{});
    n.inflections.push_back({Accent{}, {}, ""});
    CHECK(wheel_course(n, {}).empty());
}
