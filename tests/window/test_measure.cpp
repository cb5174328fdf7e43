// window: measuring a span of the pitch line by hand.
#include <cmath>
#include <numbers>

#include <doctest/doctest.h>

#include "ui/window/measure.h"

using namespace bentline;
using namespace bentline::window;

namespace {

template <class CentsAt>
PitchCurve line_of(double length, CentsAt cents_at) {
    PitchCurve line;
    line.tuning = Cents(-20);
    for (double t = 0; t < length; t += line.hop.value()) {
        PitchPoint p;
        p.f0 = frequency(Pitch(60.0) + Cents(cents_at(t)), line.tuning);
        line.points.push_back(p);
    }
    return line;
}

}  // namespace

TEST_CASE("measure: a straight bend of 98 cents is 98 cents, without vibrato [construction]") {
    const PitchCurve line = line_of(0.6, [](double t) {
        return t < 0.2 ? 0.0 : t > 0.4 ? 98.0 : 98.0 * (t - 0.2) / 0.2;
    });
    const Measured m = measure_span(line, {Seconds(0.1), Seconds(0.5)});
    REQUIRE(m.moved);
    CHECK(std::abs(m.moved->value() - 98.0) < 0.01);  // steady ends: only rounding
    CHECK(std::abs(m.spread->value() - 98.0) < 0.01);
    CHECK(std::abs((*m.first - Pitch(60.0)).value()) < 0.01);
    CHECK_FALSE(m.vibrato_rate);
}

TEST_CASE(
    "measure: vibrato on a drifting pitch, rate within 3 % and depth within 5 % [construction]") {
    for (const double rate : {4.5, 5.6, 7.0}) {
        for (const double depth : {12.0, 34.0, 80.0}) {
            const PitchCurve line = line_of(1.0, [&](double t) {
                return 15.0 * t + depth * std::sin(2.0 * std::numbers::pi * rate * t);
            });
            const Measured m = measure_span(line, {Seconds(0), Seconds(1)});
            REQUIRE(m.vibrato_rate);
            CHECK(std::abs(m.vibrato_rate->value() / rate - 1.0) < 0.03);
            CHECK(std::abs(m.vibrato_depth->value() / depth - 1.0) < 0.05);
        }
    }
}

TEST_CASE("measure: a span without a line measures nothing") {
    PitchCurve line;
    line.points.resize(100);
    const Measured m = measure_span(line, {Seconds(0), Seconds(1)});
    CHECK_FALSE(m.moved);
    CHECK_FALSE(m.vibrato_rate);
    CHECK_FALSE(measure_span(PitchCurve{}, {Seconds(-5), Seconds(5)}).first);
}
