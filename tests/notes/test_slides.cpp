// notes: slides of every length, from below and above, over a band that plays on.
#include <cmath>
#include <cstdlib>

#include <doctest/doctest.h>

#include "engine/notes/fine_line.h"
#include "engine/notes/lead_signal.h"
#include "tests/notes/played.h"

using namespace bentline;
using namespace bentline::testing;

namespace {

// A low chord struck every quarter of a second, each string 8 dB under the lead, and hiss: what
// sounds along is about as loud as the lead.
Played in_band() {
    Played p(1.6_s);
    for (int strum = 0; strum < 6; ++strum) {
        for (const int key : {41, 48, 53, 57})
            p.accompany(0.05 + 0.25 * strum, key, 0.24, 0.12);
    }
    return p.hiss(Decibels(-42.0), 5);
}

// The tracker passes from one fret to the next within two or three of its points.
constexpr int tracker_blur = 12;  // ms

// A fret takes 25 to 60 ms, one of a long slide 16 to 40 (common practice, no source).
double each_fret(int count) {
    return std::abs(count) > 4 ? 0.022 : 0.04;
}

}  // namespace

TEST_CASE("notes: in a band, slides in of 1 to 9 frets are written where they arrive") {
    for (const int away : {1, 2, 3, 4, 5, 7, 9, -1, -2, -3, -4, -5, -7, -9}) {
        CAPTURE(away);
        const int key = 70;
        Played p = in_band();
        p.strike(0.2, key - away, 1.0,
                 [=](double t) { return frets(t, 0.04, each_fret(away), away); });
        const auto notes = p.notes(tracker_blur);
        REQUIRE(notes.size() == 1);
        CHECK(notes[0].key.value() == key);
        CHECK(std::abs(notes[0].onset.value() - 0.2) < 0.02);
        const SlideIn* slide = find<SlideIn>(notes[0]);
        REQUIRE(slide != nullptr);
        REQUIRE(slide->from.has_value());
        // The first fret sounds for 40 ms, half of them under the pluck.
        CHECK(std::abs(slide->from->value() - (key - away)) <= 1);
    }
}

TEST_CASE("notes: in a band, slides out of 2 to 6 frets leave the note where it was held") {
    for (const int away : {2, 4, 6, -2, -4, -6}) {
        CAPTURE(away);
        const int key = 67;
        Played p = in_band();
        p.strike(0.2, key, 0.7 + each_fret(away) * std::abs(away),
                 [=](double t) { return frets(t, 0.7, each_fret(away), away); });
        const auto notes = p.notes(tracker_blur);
        REQUIRE(notes.size() == 1);
        CHECK(notes[0].key.value() == key);
        CHECK(find<SlideOut>(notes[0]) != nullptr);
    }
}

TEST_CASE("notes: a slide is one note though a fret sounds anew under the finger") {
    // A second, weak pluck of the same string in the middle of the slide.
    Played p(1.6_s);
    const auto line = [](double t) { return frets(t, 0.04, 0.04, 4); };
    p.strike(0.2, 66, 0.08, line);
    p.strike(
        0.28, 66, 0.9, [=](double t) { return line(t + 0.08); }, 0.24);
    const auto notes = p.notes();
    REQUIRE(notes.size() == 1);
    CHECK(notes[0].key.value() == 70);
    CHECK(find<SlideIn>(notes[0]) != nullptr);
}

TEST_CASE("notes: the line of a note follows no bass that the tracker leans towards after it") {
    // The string is damped 40 ms before the tracker lets go of it; a bass note goes on.
    Played p(1.4_s);
    p.strike(0.2, 65, 0.5);
    p.accompany(0.55, 41, 0.8, 0.25);
    auto curve = p.curve();
    for (std::size_t i = 0; i < curve.points.size(); ++i) {
        const double t = curve.time_of(i).value();
        PitchPoint& point = curve.points[i];
        if (t > 0.65 && t < 0.74) point.f0 = frequency(Pitch(65));
        if (!point.f0 && t > 0.6) point.leaning = frequency(Pitch(41));
    }
    const NoteSettings settings;
    const auto line = notes::fine_line(notes::lead_signal(p.audio(), Focus{}), curve, settings, {});
    std::size_t followed = 0;
    for (std::size_t i = 0; i < line.size(); ++i) {
        if (line.voiced[i] != 1) continue;
        ++followed;
        CHECK(std::abs(line.cents[i] - 6500.0) < 100.0);
    }
    CHECK(followed > 100);
}
