// corpus: the engine reaches its stated figures on clean single lines (48 takes, two soundfonts,
// six guitars). The floors are the project's aims, not our last result.
#include <cmath>
#include <iostream>
#include <span>

#include <doctest/doctest.h>

#include "tests/corpus/collection.h"
#include "tests/corpus/listeners.h"
#include "tests/corpus/scoreboard.h"

using namespace bentline;
using namespace bentline::corpus;

TEST_CASE("corpus: clean single lines, by mir_eval's definitions") {
    if (const auto missing = missing_file(Seeds::development)) {
        MESSAGE("skipped: " << *missing);
        return;
    }
    Collection collection(SetChoice{});
    Scoreboard board;
    board.name = collection.set_name();
    for (int number = 0; number < 48; ++number) {
        const auto take = collection.make(number);
        REQUIRE(take);
        const auto heard = hear_with_engine(take->audio, Focus{});
        REQUIRE(heard);
        board.add(*take, *heard);
    }
    print_table(std::cout, std::span(&board, 1));
    print_kinds(std::cout, board);

    const MelodyScore m = board.mean_melody();
    CHECK(m.raw_pitch_50 >= 0.98);
    CHECK(m.raw_pitch_10 >= 0.93);
    CHECK(m.voicing_recall >= 0.97);
    CHECK(m.false_alarm <= 0.08);
    CHECK(board.mean_notes().f1 >= 0.93);
    CHECK(median(board.bend_cents) <= 5.0);
    CHECK(median(board.vibrato_hz) <= 0.15);
    CHECK(median(board.vibrato_cents) <= 5.0);
    for (std::size_t k = 0; k < kind_count; ++k) {
        CHECK(board.kinds[k].in_truth_matched >= 15);
        CHECK_MESSAGE(board.kinds[k].on_matched().f1 >= 0.8, "kind ", k);
    }
}
