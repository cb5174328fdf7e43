// MIDI file bytes: the tables of Standard MIDI Files 1.0, and ticks against seconds.
#include <cmath>

#include <doctest/doctest.h>

#include "engine/export/smf.h"
#include "engine/export/tick_map.h"
#include "tests/support/dice.h"

using namespace bentline;

TEST_CASE("smf: variable-length quantities [SMF 1.0, table of examples]") {
    struct Row {
        std::uint32_t value;
        Bytes bytes;
    };
    const std::vector<Row> table = {{0x00, {0x00}},
                                    {0x40, {0x40}},
                                    {0x7F, {0x7F}},
                                    {0x80, {0x81, 0x00}},
                                    {0x2000, {0xC0, 0x00}},
                                    {0x3FFF, {0xFF, 0x7F}},
                                    {0x4000, {0x81, 0x80, 0x00}},
                                    {0x100000, {0xC0, 0x80, 0x00}},
                                    {0x1FFFFF, {0xFF, 0xFF, 0x7F}},
                                    {0x200000, {0x81, 0x80, 0x80, 0x00}},
                                    {0x8000000, {0xC0, 0x80, 0x80, 0x00}},
                                    {0xFFFFFFF, {0xFF, 0xFF, 0xFF, 0x7F}}};
    for (const Row& row : table)
        CHECK(variable_length(row.value) == row.bytes);
}

TEST_CASE("smf: the header chunk of format 1 and the end-of-track event [SMF 1.0]") {
    const Bytes file = midi_file({MidiTrack().chunk(0)}, 960);
    const Bytes expected = {'M',  'T',  'h', 'd', 0, 0, 0, 6, 0, 1,    0,    1,
                            0x03, 0xC0,  // 960 = 0x03C0
                            'M',  'T',  'r', 'k', 0, 0, 0, 4, 0, 0xFF, 0x2F, 0};
    CHECK(file == expected);
}

TEST_CASE("smf: events are written by tick, then note ends, wheel, note begins") {
    MidiTrack track;
    track.add(10, MidiTrack::Rank::note_on, {0x90, 62, 80});
    track.add(10, MidiTrack::Rank::wheel, {0xE0, 0, 64});
    track.add(10, MidiTrack::Rank::note_off, {0x80, 60, 64});
    track.add(0, MidiTrack::Rank::note_on, {0x90, 60, 80});
    const Bytes chunk = track.chunk(20);
    const Bytes body(chunk.begin() + 8, chunk.end());
    const Bytes expected = {0, 0x90, 60, 80,   10, 0x80, 60, 64,   0,    0xE0,
                            0, 64,   0,  0x90, 62, 80,   10, 0xFF, 0x2F, 0};
    CHECK(body == expected);
}

TEST_CASE("ticks: without bars, 120 quarter notes a minute") {
    const TickMap map(std::nullopt, Seconds(0.0), Seconds(60.0));
    CHECK(map.ticks_per_quarter() == 960);
    CHECK(map.tick_of(Seconds(0.5)) == 960);
    CHECK(map.tick_of(Seconds(59.99)) == 115181);  // 59.99 * 1920 = 115180.8
    CHECK(map.tempos().size() == 1);
    CHECK(map.tempos()[0].microseconds == 500000);
}

TEST_CASE("ticks: bars of the map are bars of the file, and times stay the recording's") {
    // Bar 1 at 3.3 s, 120 a minute: six beats and 0.3 s before it. The 0.3 s are most of a beat, so
    // the file begins with a bar of three beats, then one of four.
    const BarMap bars = BarMap::constant(Tempo(120.0), Seconds(3.3)).value();
    const TickMap map(bars, Seconds(1.0), Seconds(200.0));
    CHECK(map.tick_of_bar(1) == 7 * 960);
    CHECK(map.tick_of_bar(2) == 11 * 960);
    CHECK(map.tick_of(Seconds(3.3)) == 7 * 960);
    CHECK(map.tick_of(Seconds(0.3)) == 960);
    REQUIRE(map.metres().size() == 2);
    CHECK(map.metres()[0].metre == Metre{3, 4});
    CHECK(map.metres()[1].metre == Metre{4, 4});
    CHECK(map.metres()[1].tick == 3 * 960);
    REQUIRE(map.tempos().size() == 2);
    CHECK(map.tempos()[0].microseconds == 300000);
    CHECK(map.tempos()[1].microseconds == 500000);
}

TEST_CASE("ticks: a compound metre counts dotted quarters") {
    const BarMap bars = BarMap::constant(Tempo(60.0), Seconds(0.0), Metre{12, 8}).value();
    const TickMap map(bars, Seconds(0.0), Seconds(30.0));
    CHECK(map.tick_of(Seconds(1.0)) == 1440);  // a dotted quarter a second
    CHECK(map.tick_of_bar(2) == 4 * 1440);
    CHECK(map.tempos()[0].microseconds == 666667);  // a quarter in two thirds of a second
}

TEST_CASE("ticks: over 500 breathing bars, times and beats stay within the stated accuracy") {
    testing::Dice dice(11);
    for (const double slow : {0.3, 0.6, 1.5, 2.9}) {
        std::vector<Seconds> beats;
        double t = 2.37;
        for (int i = 0; i < 2000; ++i) {
            beats.push_back(Seconds(t));
            t += slow * dice.between(0.92, 1.08);
        }
        const BarMap bars = BarMap::from_beats(beats, 4).value();
        const TickMap map(bars, Seconds(0.0), beats.back());
        for (int i = 0; i < 3000; ++i) {
            const Seconds at(dice.between(0.0, beats.back().value()));
            REQUIRE(std::abs((map.time_of(map.tick_of(at)) - at).value()) <= tick_accuracy.value());
        }
        for (int bar = 1; bar <= 490; ++bar) {
            const auto tick = map.tick_of_bar(bar);
            REQUIRE(tick.has_value());
            REQUIRE(*tick - *map.tick_of_bar(1) == (bar - 1) * 4 * map.ticks_per_quarter());
            REQUIRE(std::abs((map.time_of(*tick) - bars.bar_span(bar).from).value()) <=
                    beat_accuracy.value());
        }
    }
}

TEST_CASE("ticks: a constant tempo that no whole microsecond fits does not drift") {
    const BarMap bars = BarMap::constant(Tempo(133.7), Seconds(0.0)).value();
    const TickMap map(bars, Seconds(0.0), Seconds(1000.0));
    CHECK(map.tempos().size() < 4);
    for (int bar = 1; bar <= 500; ++bar) {
        REQUIRE(std::abs((map.time_of(*map.tick_of_bar(bar)) - bars.bar_span(bar).from).value()) <=
                beat_accuracy.value());
    }
}

TEST_CASE("ticks: notes before the recording, and a bar 1 before it") {
    const BarMap bars = BarMap::constant(Tempo(120.0), Seconds(-9.7)).value();
    const TickMap map(bars, Seconds(-1.25), Seconds(10.0));
    CHECK(map.start() == Seconds(-2.0));
    CHECK(map.tick_of(Seconds(-2.0)) == 0);
    CHECK(map.tick_of_bar(1) == std::nullopt);
    // Bar lines at -1.7, 0.3, 2.3 …: 0.3 s of a beat before the first, so a bar of one beat leads
    // in.
    CHECK(map.tick_of_bar(5) == 960);
    CHECK(std::abs((map.time_of(*map.tick_of_bar(6)) - Seconds(0.3)).value()) < 1e-3);
}
