// score: every bar of every chorus adds up, whatever its metre, its pickup and its changes of
// metre.
#include <doctest/doctest.h>

#include "engine/score/write_score.h"
#include "tests/score/performance.h"
#include "tests/score/score_text.h"
#include "tests/support/dice.h"

using namespace bentline;
using bentline::testing::Dice;
using bentline::testing::fault_of;
using bentline::testing::perform;
using bentline::testing::Performance;
using bentline::testing::PerformanceSettings;

namespace {

constexpr Metre metres[] = {{4, 4}, {3, 4}, {6, 8}, {12, 8}};

PerformanceSettings chorus_settings(int i, Dice& dice) {
    PerformanceSettings s;
    s.seed = 9000 + static_cast<std::uint64_t>(i);
    s.bars = 12;
    s.metre = metres[i % 4];
    s.tempo = s.metre.compound() ? dice.between(50.0, 130.0) : dice.between(60.0, 260.0);
    s.swing = dice.between(1.0, 2.5);
    s.drift = dice.between(0.0, 0.08);
    s.late = dice.between(-0.01, 0.04);
    s.loose = dice.chance(0.5);
    s.sextuplets = s.tempo < 110.0;
    s.triplets = s.tempo < 220.0;
    s.sixteenths = s.tempo < 190.0;
    return s;
}

// The line with bar 1 some beats in, and other metres on the way; its notes stay where they are.
BarMap recounted(const BarMap& bars, int i, Dice& dice) {
    BarMap::Parts parts = bars.parts();
    const int beats = parts.metres.front().metre.beats_per_bar();
    const int pickup = i % 3 == 0 ? dice.whole(1, beats - 1) : 0;
    for (BarMap::Anchor& a : parts.anchors)
        a.beat -= pickup;
    parts.pickup = pickup;
    if (i % 2 == 1) {
        for (int bar = dice.whole(2, 5); bar < 12; bar += dice.whole(1, 4))
            parts.metres.push_back({bar, dice.pick(metres)});
    }
    return BarMap::make(std::move(parts)).value();
}

Ticks full_length(const Metre& metre) {
    return Ticks(4 * quarter.value() * metre.count / metre.unit);
}

}  // namespace

TEST_CASE(
    "score: 300 choruses in four metres, with pickups and changes of metre: all bars add up") {
    int bars = 0;
    int pickups = 0;
    int changes = 0;
    for (int i = 0; i < 300; ++i) {
        Dice dice(static_cast<std::uint64_t>(i) + 40000);
        const Performance p = perform(chorus_settings(i, dice));
        Draft draft;
        draft.bars = recounted(p.bars, i, dice);
        draft.key = Key{i % 13 - 6, false};
        const Score score =
            write_score(pencil(std::move(draft), p.played).value(), WhichNotes::inked_and_pencilled)
                .value();
        REQUIRE_MESSAGE(fault_of(score).empty(), "chorus ", i, ": ", fault_of(score));
        for (std::size_t m = 0; m < score.measures.size(); ++m) {
            const Measure& measure = score.measures[m];
            ++bars;
            if (m > 0) changes += measure.metre != score.measures[m - 1].metre ? 1 : 0;
            if (m == 0 && measure.number < 1) {
                ++pickups;
                REQUIRE(measure.length + measure.skipped == full_length(measure.metre));
                continue;
            }
            REQUIRE(measure.length == full_length(measure.metre));
            REQUIRE(measure.skipped == Ticks(0));
            if (m > 0) REQUIRE(measure.number == score.measures[m - 1].number + 1);
        }
    }
    MESSAGE(bars, " bars, ", pickups, " pickups, ", changes, " changes of metre");
    CHECK(bars > 3000);
    CHECK(pickups >= 80);
    CHECK(changes >= 200);
}
