// units: conversions against published values.
#include <doctest/doctest.h>

#include "engine/units.h"

using namespace bentline;

TEST_CASE("units: twelve-tone frequencies at A4 = 440 Hz [ISO 16; equal temperament]") {
    const struct {
        int key;
        double hz;
    } rows[] = {{40, 82.4069},  {45, 110.0},    {50, 146.8324}, {55, 195.9977},
                {59, 246.9417}, {64, 329.6276}, {69, 440.0},    {88, 1318.5102}};
    for (const auto& row : rows) {
        const Hertz f = frequency(Pitch(MidiKey(row.key)));
        CHECK(std::abs(f.value() - row.hz) < 0.00006);  // the table's last digit
        CHECK(std::abs(pitch_of(Hertz(row.hz)).value() - row.key) < 1e-5);
        CHECK(nearest_key(pitch_of(Hertz(row.hz))) == MidiKey(row.key));
    }
}

TEST_CASE("units: cents of ratios [Ellis 1885: 1200 log2 r]") {
    const struct {
        double a, b, cents;
    } rows[] = {{3, 2, 701.955}, {5, 4, 386.314},  {6, 5, 315.641},  {7, 4, 968.826},
                {9, 8, 203.910}, {81, 80, 21.506}, {441, 440, 3.930}};
    for (const auto& row : rows) {
        CHECK(std::abs(interval(Hertz(row.b), Hertz(row.a)).value() - row.cents) < 0.0006);
    }
}

TEST_CASE("units: a sharp recording is read back to the written pitch") {
    const Cents tuning(23.0);
    const Hertz sounding = frequency(Pitch(64.0), tuning);
    CHECK(interval(frequency(Pitch(64.0)), sounding).value() == doctest::Approx(23.0));
    CHECK(pitch_of(sounding, tuning).value() == doctest::Approx(64.0));
}

TEST_CASE("units: frames, seconds, heard time and decibels") {
    CHECK(to_frames(Seconds(1.0), SampleRate(44100)) == Frames(44100));
    CHECK(to_frames(Seconds(0.5 / 44100), SampleRate(44100)) == Frames(1));  // nearest, half up
    CHECK(to_seconds(Frames(96000), SampleRate(96000)) == Seconds(1.0));
    CHECK(heard(Seconds(2.0), 0.5) == HeardSeconds(4.0));
    CHECK(recorded(HeardSeconds(4.0), 0.5) == Seconds(2.0));
    CHECK(amplitude(Decibels(20.0)) == doctest::Approx(10.0));
    CHECK(decibels(0.5).value() == doctest::Approx(-6.0206).epsilon(1e-5));  // 20 log10(1/2)
    CHECK(Range<Seconds>{Seconds(1), Seconds(2)}.contains(Seconds(1)));
    CHECK_FALSE(Range<Seconds>{Seconds(1), Seconds(2)}.contains(Seconds(2)));
}
