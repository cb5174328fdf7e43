// corpus: each of the player's hints makes the rest of a band's lead come out better, on a few
// takes of the development seeds with the lead as loud as his band. What a hint tells by itself is
// not scored.
#include <algorithm>
#include <cstdint>
#include <vector>

#include <doctest/doctest.h>

#include "tests/corpus/collection.h"
#include "tests/corpus/hinted.h"
#include "tests/corpus/listeners.h"
#include "tests/corpus/scoreboard.h"

using namespace bentline;
using namespace bentline::corpus;

namespace {

constexpr int first_take = 100;
constexpr int takes = 5;

struct Worth {
    Scoreboard without, with;
};

// All takes, heard once without hints and once for each kind.
std::vector<Worth> worth_of(const std::vector<HintKind>& kinds) {
    SetChoice choice;
    choice.scene = Scene::band;
    choice.lead_over_band = Decibels(0.0);
    Collection collection(choice);
    std::vector<Worth> worth(kinds.size());
    for (int i = first_take; i < first_take + takes; ++i) {
        const auto take = collection.make(i);
        REQUIRE(take);
        const auto plain = hear_with_engine(take->audio, Focus{});
        REQUIRE(plain);
        for (std::size_t k = 0; k < kinds.size(); ++k) {
            const Given given =
                give_hints(kinds[k], *take, *plain, static_cast<std::uint64_t>(i) + 1);
            const auto hinted = hear_with_engine(take->audio, Focus{}, given.hints);
            REQUIRE(hinted);
            for (const Note& inked : given.hints.inked) {
                CHECK(std::find(hinted->notes.begin(), hinted->notes.end(), inked) !=
                      hinted->notes.end());
            }
            const Remainder before = without_given(*take, *plain, given.given_notes);
            const Remainder after = without_given(*take, *hinted, given.given_notes);
            worth[k].without.add(before.take, before.heard);
            worth[k].with.add(after.take, after.heard);
        }
    }
    return worth;
}

}  // namespace

TEST_CASE("corpus: inked notes, notes pointed at and notes ruled out raise the rest's scores") {
    if (const auto missing = missing_file(Seeds::development)) {
        MESSAGE("skipped: " << *missing);
        return;
    }
    const auto worth = worth_of({HintKind::inked, HintKind::here, HintKind::not_these});
    for (const Worth& w : worth) {
        MESSAGE("note F1 " << w.without.mean_notes().f1 << " to " << w.with.mean_notes().f1
                           << ", precision " << w.without.mean_notes().precision << " to "
                           << w.with.mean_notes().precision << ", recall "
                           << w.without.mean_notes().recall << " to " << w.with.mean_notes().recall
                           << ", with ends " << w.without.mean_notes_with_ends().f1 << " to "
                           << w.with.mean_notes_with_ends().f1);
    }
    // The margins are about half of what was measured here. A note that is known ends the one
    // before it and begins the one after; one that is pointed at without its pitch is found.
    CHECK(worth[0].with.mean_notes_with_ends().f1 >
          worth[0].without.mean_notes_with_ends().f1 + 0.02);
    CHECK(worth[1].with.mean_notes().recall > worth[1].without.mean_notes().recall + 0.01);
    CHECK(worth[2].with.mean_notes().precision > worth[2].without.mean_notes().precision + 0.004);
    CHECK(worth[2].with.mean_notes().f1 > worth[2].without.mean_notes().f1 + 0.0015);
}
