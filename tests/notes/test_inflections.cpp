// notes: slides, bends, trills, staccato and accents of known size on strings known exactly.
#include <algorithm>

#include <doctest/doctest.h>

#include "tests/notes/played.h"

using namespace bentline;
using namespace bentline::testing;

namespace {

// The ear tells pitches 2 to 5 cents apart on steady tones (difference limen for trained ears).
constexpr double cents_tolerance = 5.0;

bool plain(const Note& n) {
    return n.inflections.empty();
}

}  // namespace

TEST_CASE(
    "notes: bends of a quarter, a half, a whole and a whole and a half [50, 100, 200, 300 c]") {
    for (const double size : {50.0, 100.0, 200.0, 300.0}) {
        CAPTURE(size);
        Played p(1.5_s);
        p.strike(0.2, 64, 1.0, [=](double t) { return size * smoothly(t, 0.12, 0.28); });
        const auto notes = p.notes();
        REQUIRE(notes.size() == 1);
        CHECK(notes[0].key.value() == 64);
        const Bend* bend = find<Bend>(notes[0]);
        REQUIRE(bend != nullptr);
        CHECK(std::abs(bend->size.value() - size) < cents_tolerance);
        CHECK_FALSE(bend->release);
        CHECK_FALSE(bend->prebend);
        REQUIRE(bend->start.has_value());
        REQUIRE(bend->peak.has_value());
        CHECK(std::abs(bend->start->value() - 0.32) < 0.04);
        CHECK(std::abs(bend->peak->value() - 0.48) < 0.04);
        CHECK(notes[0].inflections.size() == 1);
        CHECK(notes[0].inflections[0].reason.rfind("rose ", 0) == 0);
    }
}

TEST_CASE("notes: a bend let down again") {
    Played p(1.6_s);
    p.strike(0.2, 62, 1.2,
             [](double t) { return 200.0 * (smoothly(t, 0.1, 0.25) - smoothly(t, 0.55, 0.75)); });
    const auto notes = p.notes();
    REQUIRE(notes.size() == 1);
    const Bend* bend = find<Bend>(notes[0]);
    REQUIRE(bend != nullptr);
    CHECK(bend->release);
    CHECK_FALSE(bend->prebend);
    CHECK(std::abs(bend->size.value() - 200.0) < cents_tolerance);
}

TEST_CASE("notes: a pre-bend is written at its fret and let down") {
    Played p(1.6_s);
    p.strike(0.2, 62, 1.2, [](double t) { return 200.0 * (1.0 - smoothly(t, 0.4, 0.6)); });
    const auto notes = p.notes();
    REQUIRE(notes.size() == 1);
    CHECK(notes[0].key.value() == 62);
    const Bend* bend = find<Bend>(notes[0]);
    REQUIRE(bend != nullptr);
    CHECK(bend->prebend);
    CHECK(bend->release);
    CHECK(std::abs(bend->size.value() - 200.0) < cents_tolerance);
}

TEST_CASE("notes: slides in from 1 to 9 frets, below and above") {
    for (const int frets_below : {1, 2, 4, 9, -2}) {
        CAPTURE(frets_below);
        Played p(1.5_s);
        const int key = 64;
        p.strike(0.2, key - frets_below, 1.0,
                 [=](double t) { return frets(t, 0.05, 0.03, frets_below); });
        const auto notes = p.notes();
        REQUIRE(notes.size() == 1);
        CHECK(notes[0].key.value() == key);
        CHECK(std::abs(notes[0].onset.value() - 0.2) < 0.01);
        const SlideIn* slide = find<SlideIn>(notes[0]);
        REQUIRE(slide != nullptr);
        REQUIRE(slide->from.has_value());
        CHECK(slide->from->value() == key - frets_below);
        REQUIRE(slide->span.has_value());
        CHECK(std::abs(slide->span->to.value() - (0.25 + 0.03 * (std::abs(frets_below) - 1))) <
              0.02);
    }
}

TEST_CASE("notes: a slide out, four frets down") {
    Played p(1.5_s);
    p.strike(0.2, 64, 0.8, [](double t) { return frets(t, 0.68, 0.03, -4); });
    const auto notes = p.notes();
    REQUIRE(notes.size() == 1);
    CHECK(notes[0].key.value() == 64);
    const SlideOut* slide = find<SlideOut>(notes[0]);
    REQUIRE(slide != nullptr);
    REQUIRE(slide->to.has_value());
    CHECK(std::abs(slide->to->value() - 60) <= 1);  // the last fret sounds for 30 ms only
}

TEST_CASE("notes: a slide to the next note, which begins where it arrives") {
    Played p(1.6_s);
    p.strike(0.2, 60, 1.1, [](double t) { return frets(t, 0.45, 0.035, 3); });
    const auto notes = p.notes();
    REQUIRE(notes.size() == 2);
    CHECK(notes[0].key.value() == 60);
    CHECK(notes[1].key.value() == 63);
    CHECK(find<SlideToNext>(notes[0]) != nullptr);
    CHECK(plain(notes[1]));
    CHECK(std::abs(notes[1].onset.value() - 0.72) < 0.02);
}

TEST_CASE("notes: trills up and down are one note that begins on its main pitch") {
    for (const int step : {1, 2, -2}) {
        CAPTURE(step);
        Played p(1.5_s);
        p.strike(0.2, 66, 0.9, [=](double t) {
            const int turn = t < 0.1 ? 0 : 1 + static_cast<int>((t - 0.1) / 0.075);
            return turn % 2 == 1 ? 100.0 * step : 0.0;
        });
        const auto notes = p.notes();
        REQUIRE(notes.size() == 1);
        CHECK(notes[0].key.value() == 66);
        const Trill* trill = find<Trill>(notes[0]);
        REQUIRE(trill != nullptr);
        CHECK(trill->semitones == step);
    }
}

TEST_CASE("notes: a trill stays one note where each finger is heard to fall") {
    // Each turn has a tap of its own, 17 dB under the string and 28 semitones over it.
    for (const double each : {0.08, 0.10}) {
        CAPTURE(each);
        Played p(1.5_s);
        p.strike(0.2, 60, 0.9,
                 [=](double t) { return std::fmod(t, 2 * each) < each ? 0.0 : 200.0; });
        for (int i = 1; i < static_cast<int>(0.9 / each); ++i)
            p.accompany(0.2 + each * i, 88, 0.03, 0.04);
        const auto notes = p.notes();
        REQUIRE(notes.size() == 1);
        CHECK(notes[0].key.value() == 60);
        const Trill* trill = find<Trill>(notes[0]);
        REQUIRE(trill != nullptr);
        CHECK(trill->semitones == 2);
    }
}

TEST_CASE("notes: two notes picked in turn, as fast as a trill, stay notes") {
    Played p(1.5_s);
    for (int i = 0; i < 8; ++i)
        p.strike(0.2 + 0.1 * i, i % 2 == 0 ? 60 : 62, 0.1);
    const auto notes = p.notes();
    REQUIRE(notes.size() == 8);
    for (std::size_t i = 0; i < 8; ++i)
        CHECK(notes[i].key.value() == (i % 2 == 0 ? 60 : 62));
}

TEST_CASE("notes: one note in a line of quavers is clipped, one is leaned on") {
    Played p(3.2_s);
    for (int i = 0; i < 10; ++i) {
        const double peak = i == 6 ? 0.3 * amplitude(Decibels(7.0)) : 0.3;
        p.strike(0.2 + 0.28 * i, 60 + i % 5, i == 3 ? 0.09 : 0.26, {}, peak);
    }
    const auto notes = p.notes();
    REQUIRE(notes.size() == 10);
    for (std::size_t i = 0; i < 10; ++i) {
        CAPTURE(i);
        CHECK((find<Staccato>(notes[i]) != nullptr) == (i == 3));
        CHECK((find<Accent>(notes[i]) != nullptr) == (i == 6));
    }
}
