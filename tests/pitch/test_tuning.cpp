// pitch: concert-pitch offset of lines with a known one.
#include <cmath>

#include <doctest/doctest.h>

#include "engine/pitch/tuning.h"

using namespace bentline;

namespace {

PitchCurve line_of_notes(double offset_cents, bool with_bends) {
    PitchCurve c;
    int k = 0;
    for (const double midi :
         {60.0, 63.0, 65.0, 66.0, 67.0, 70.0, 72.0, 70.0, 67.0, 65.0, 63.0, 60.0}) {
        ++k;
        for (int i = 0; i < 40; ++i) {
            double cents =
                offset_cents + ((k * 7) % 5 - 2.0);  // notes out of tune by up to 2 cents
            if (with_bends && k % 3 == 0) cents += 50.0 * std::min(1.0, i / 30.0);
            if (with_bends && k % 3 == 1) cents += 25.0 * std::sin(i * 0.2);
            c.points.push_back({frequency(Pitch(midi), Cents(cents)), 0.9, Decibels(-20.0), {}});
        }
        for (int i = 0; i < 6; ++i)
            c.points.push_back({});
    }
    return c;
}

}  // namespace

TEST_CASE("pitch: tuning of a steady line, whole range of -50 to 50 cents [ISO 16: A4 = 440 Hz]") {
    for (const double offset : {-49.0, -30.0, -12.0, 0.0, 3.5, 20.0, 45.0}) {
        const auto t = estimate_tuning(line_of_notes(offset, false));
        REQUIRE(t);
        CHECK(std::abs(t->value() - offset) < tuning_accuracy.value());
    }
}

TEST_CASE("pitch: bends and vibrato do not pull the tuning") {
    for (const double offset : {-20.0, 0.0, 31.0}) {
        const auto t = estimate_tuning(line_of_notes(offset, true));
        REQUIRE(t);
        // Every third note ends 50 cents up and every third shakes: twice the plain bound.
        CHECK(std::abs(t->value() - offset) < 2.0 * tuning_accuracy.value());
    }
}

TEST_CASE("pitch: no tuning without steady sound") {
    CHECK_FALSE(estimate_tuning(PitchCurve{}));
    PitchCurve short_one;
    short_one.points.resize(5, PitchPoint{Hertz(440.0), 0.9, Decibels(-20.0), {}});
    CHECK_FALSE(estimate_tuning(short_one));
}
