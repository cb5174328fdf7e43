// notes: where notes begin and end, on strings whose plucks are known exactly.
#include <doctest/doctest.h>

#include "tests/notes/played.h"

using namespace bentline;
using namespace bentline::testing;

namespace {

// A pluck is a sudden event; the time order of two sounds needs about 20 ms to be heard (Hirsh
// 1959, from memory), so an onset within half of that is exact to the ear.
constexpr double onset_tolerance = 0.010;

}  // namespace

TEST_CASE("notes: repeated notes of one pitch separate, sixteenths at 180 a minute, no gap") {
    Played p(1.5_s);
    const double each = 60.0 / 180.0 / 4.0;
    for (int i = 0; i < 8; ++i)
        p.strike(0.2 + i * each, 64, each);
    const auto notes = p.notes();
    REQUIRE(notes.size() == 8);
    for (std::size_t i = 0; i < 8; ++i) {
        CHECK(notes[i].key.value() == 64);
        CHECK(std::abs(notes[i].onset.value() - 0.2 - static_cast<double>(i) * each) <
              onset_tolerance);
    }
}

TEST_CASE("notes: a sweep at 35 ms a note does not merge") {
    Played p(1.2_s);
    const int keys[] = {57, 60, 64, 69, 72, 76};
    for (int i = 0; i < 6; ++i)
        p.strike(0.2 + 0.035 * i, keys[i], i == 5 ? 0.5 : 0.035);
    const auto notes = p.notes();
    REQUIRE(notes.size() == 6);
    for (std::size_t i = 0; i < 6; ++i) {
        CHECK(notes[i].key.value() == keys[i]);
        CHECK(std::abs(notes[i].onset.value() - 0.2 - 0.035 * static_cast<double>(i)) <
              onset_tolerance);
    }
}

TEST_CASE("notes: a string that speaks twice within 30 ms was struck once") {
    // The fastest picking of one string is some 16 strokes a second (common practice, no source).
    Played p(1.6_s);
    for (int i = 0; i < 3; ++i)
        p.strike(0.2 + 0.4 * i, 64, 0.03).strike(0.23 + 0.4 * i, 64, 0.35);
    const auto notes = p.notes();
    REQUIRE(notes.size() == 3);
    for (std::size_t i = 0; i < 3; ++i) {
        CHECK(notes[i].key.value() == 64);
        CHECK(std::abs(notes[i].onset.value() - 0.2 - 0.4 * static_cast<double>(i)) <
              onset_tolerance);
    }
    // With nothing known of how fast a hand is, all six are heard.
    NoteSettings any_hand;
    any_hand.fastest_repeat = Seconds(0.0);
    const auto heard = find_notes(p.audio(), p.curve(), Focus{}, any_hand);
    REQUIRE(heard.ok());
    CHECK(heard->size() == 6);
}

TEST_CASE("notes: vibrato of 4 to 7.5 Hz and 15 to 60 c does not split, and is measured") {
    for (const double rate : {4.0, 5.5, 7.5}) {
        for (const double depth : {15.0, 35.0, 60.0}) {
            CAPTURE(rate);
            CAPTURE(depth);
            Played p(1.8_s);
            p.strike(0.2, 67, 1.3, [=](double t) {
                return depth * smoothly(t, 0.1, 0.2) * std::sin(2.0 * std::numbers::pi * rate * t);
            });
            const auto notes = p.notes();
            REQUIRE(notes.size() == 1);
            CHECK(notes[0].key.value() == 67);
            const Vibrato* v = find<Vibrato>(notes[0]);
            REQUIRE(v != nullptr);
            // Common practice asks for the tempo and the width of a shake to be told apart by ear:
            // 0.15 Hz and the 5 cents that a trained ear can hear (facts of hearing: 2 to 5 c).
            CHECK(std::abs(v->rate.value() - rate) < 0.15);
            CHECK(std::abs(v->depth.value() - depth) < 5.0);
        }
    }
}

TEST_CASE("notes: onset and end of one note, damped after 0.4 s") {
    Played p(1.2_s);
    p.strike(0.3, 60, 0.4);
    const auto notes = p.notes();
    REQUIRE(notes.size() == 1);
    CHECK(std::abs(notes[0].onset.value() - 0.3) < onset_tolerance);
    CHECK(std::abs(notes[0].offset.value() - 0.7) < 0.03);  // mir_eval's tolerance is 50 ms
    REQUIRE(notes[0].cents.has_value());
    CHECK(std::abs(notes[0].cents->value()) < 2.0);
    CHECK(notes[0].confidence.value_or(0.0) > 0.8);
    CHECK(notes[0].reason.rfind("struck", 0) == 0);
}

TEST_CASE("notes: a hammered note is a note of its own") {
    Played p(1.2_s);
    p.strike(0.2, 62, 0.7, [](double t) { return t < 0.3 ? 0.0 : 200.0; });
    const auto notes = p.notes();
    REQUIRE(notes.size() == 2);
    CHECK(notes[0].key.value() == 62);
    CHECK(notes[1].key.value() == 64);
    CHECK(std::abs(notes[1].onset.value() - 0.5) < onset_tolerance);
    CHECK(notes[0].offset <= notes[1].onset);
}

TEST_CASE("notes: the recording's tuning is taken out of key and cents") {
    Played p(1.0_s);
    p.strike(0.2, 64, 0.6, [](double) { return -40.0; });
    auto curve = p.curve();
    curve.tuning = Cents(-45.0);
    const auto notes = find_notes(p.audio(), curve, Focus{});
    REQUIRE(notes.ok());
    REQUIRE(notes->size() == 1);
    CHECK(notes->front().key.value() == 64);
    REQUIRE(notes->front().cents.has_value());
    CHECK(std::abs(notes->front().cents->value() - 5.0) < 2.0);
}

TEST_CASE("notes: a rough attack that swerves does not give the note its key") {
    // 60 cents under its pitch for the first 35 ms, as a driven string may begin.
    Played p(1.2_s);
    p.strike(0.2, 54, 0.5, [](double t) { return t < 0.035 ? -60.0 : 0.0; });
    const auto notes = p.notes(12);
    REQUIRE(notes.size() == 1);
    CHECK(notes[0].key.value() == 54);
    REQUIRE(notes[0].cents.has_value());
    CHECK(std::abs(notes[0].cents->value()) < 5.0);
}
