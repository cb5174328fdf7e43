// write_score: dynamics and hairpins from the notes' levels.
#include <algorithm>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "tests/score/on_beat.h"
#include "tests/score/small_scores.h"

using namespace bentline;
using bentline::testing::empty_draft;
using bentline::testing::on_beat;
using bentline::testing::score_of;

TEST_CASE(
    "score: a phrase that grows by 12 dB gets a hairpin from soft to loud; equal ones no marks but "
    "one") {
    std::vector<Note> even, growing;
    for (int i = 0; i < 16; ++i) {
        Note n = on_beat(i * 0.5, i * 0.5 + 0.5, 63 + i % 5);
        n.level = Decibels(-20.0 + (i % 2) * 0.8);
        even.push_back(n);
        growing.push_back(n);
        Note g = on_beat(10 + i * 0.5, 10 + i * 0.5 + 0.5, 63 + i % 5);
        g.level = Decibels(-26.0 + 12.0 * std::min(i, 8) / 8.0);
        growing.push_back(g);
    }
    const auto marks = [](const Score& s) {
        std::string text;
        for (const Measure& m : s.measures) {
            for (const DynamicMark& d : m.dynamics)
                text += std::string(to_text(d.dynamic)) + " ";
        }
        return text;
    };
    CHECK(marks(score_of(empty_draft(), even)) == "mf ");
    CHECK(score_of(empty_draft(), even).hairpins.empty());
    std::sort(growing.begin(), growing.end(),
              [](const Note& a, const Note& b) { return a.onset < b.onset; });
    const Score s = score_of(empty_draft(), growing);
    REQUIRE(s.hairpins.size() == 1);
    CHECK(s.hairpins[0].grows);
    CHECK(s.hairpins[0].first_measure == 2);
}

// The steps are those of SignRules::dynamic_steps, told by hand: 12 and 7 dB below the chorus's
// middle level pp and p end, 2.5 below mp; 2.5 and 7 above it f and ff begin.
TEST_CASE("score: phrases from pp to ff by their distance from the middle of the chorus") {
    std::vector<Note> notes;
    // Eleven phrases of eight eighths and four beats' rest: the middle one's level is the chorus's.
    const std::vector<double> levels = {0, -14, 0, -9, 0, -4, 0, 4, 0, 9, 0};
    for (std::size_t phrase = 0; phrase < levels.size(); ++phrase) {
        for (int i = 0; i < 8; ++i) {
            const double beat = 8.0 * static_cast<double>(phrase) + 0.5 * i;
            Note n = on_beat(beat, beat + 0.5, 63 + i % 5);
            n.level = Decibels(-20.0 + levels[phrase] + 0.5 * (i % 2));
            notes.push_back(n);
        }
    }
    const Score s = score_of(empty_draft(), notes);
    std::string marks;
    for (const Measure& m : s.measures) {
        for (const DynamicMark& d : m.dynamics) {
            CHECK(d.at == Ticks(0));  // at the phrase's first note
            marks += std::string(to_text(d.dynamic)) + " ";
        }
    }
    CHECK(marks == "mf pp mf p mf mp mf f mf ff mf ");
    CHECK(s.hairpins.empty());
}

TEST_CASE("score: a hairpin fades as well as grows, over three notes or more, never over two") {
    const auto falling = [](int steps) {
        std::vector<Note> notes;
        for (int i = 0; i < 24; ++i) {
            Note n = on_beat(i, i + 1, 63 + i % 5);
            const int down = std::clamp(i - 8, 0, steps);
            n.level = Decibels(-14.0 - 10.0 * down / steps);
            notes.push_back(n);
        }
        return score_of(empty_draft(), notes);
    };
    const Score s = falling(6);
    REQUIRE(s.hairpins.size() == 1);
    CHECK_FALSE(s.hairpins[0].grows);
    // From the last loud note, beat 8, to the first soft one, beat 14.
    CHECK(s.hairpins[0].first_measure == 2);
    CHECK(s.hairpins[0].last_measure == 3);
    CHECK(s.hairpins[0].last_event == 2);
    CHECK(falling(1).hairpins.empty());  // a sudden change is a new dynamic
}
