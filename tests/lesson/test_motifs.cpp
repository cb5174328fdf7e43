// motifs: figures planted in made-up choruses are found, and little else.
#include <algorithm>
#include <set>
#include <vector>

#include <doctest/doctest.h>

#include "engine/lesson/motifs.h"
#include "tests/draft/drafts.h"
#include "tests/support/dice.h"

using namespace bentline;
using namespace bentline::testing;

namespace {

struct Figure {
    std::vector<int> keys;        // from its first note
    std::vector<double> lengths;  // beats
};

struct Chorus {
    std::vector<Note> notes;
    std::vector<double> times;         // beats
    std::vector<std::size_t> planted;  // first notes of the figure
};

// A line of random steps and lengths at 120 a minute, with `figure` in it `times` times; onsets
// spread by 10 ms as a good player's are.
Chorus chorus_with(const Figure& figure, int times, std::uint64_t seed) {
    Dice dice(seed);
    Chorus c;
    double beat = 0.0;
    int key = 64;
    const auto add = [&](int k, double length) {
        const double at = beat + 0.02 * dice.normal();  // 0.02 beats: 10 ms
        c.notes.push_back(note(0.5 * at + 10.0, 0.5 * at + 10.0 + 0.4 * length, k));
        c.times.push_back(at);
        beat += length;
    };
    static const double lengths[] = {0.5, 1.0, 1.5, 0.75, 0.25};
    for (int round = 0; round < times; ++round) {
        for (int i = 0; i < 17; ++i) {
            int step = 0;
            while (step == 0)
                step = dice.whole(-7, 7);
            key = std::clamp(key + step, 50, 80);
            add(key, lengths[dice.whole(0, 4)]);
        }
        const int base = dice.whole(55, 70);
        c.planted.push_back(c.notes.size());
        for (std::size_t i = 0; i < figure.keys.size(); ++i)
            add(base + figure.keys[i], figure.lengths[i]);
        key = base;
    }
    return c;
}

std::vector<SoloPhrase> one_phrase(const std::vector<Note>& notes) {
    SoloPhrase p;
    p.last = notes.size();
    return {p};
}

}  // namespace

TEST_CASE("motifs: planted figures are found with precision and recall of 0.9 and more") {
    const Figure figure{{0, 3, 5, 3, 0, -2}, {0.5, 0.5, 1.0, 0.5, 0.5, 1.5}};
    std::size_t planted = 0;
    std::size_t right = 0;
    std::size_t given = 0;
    for (std::uint64_t seed = 1; seed <= 40; ++seed) {
        const Chorus c = chorus_with(figure, 4, seed);
        planted += c.planted.size();
        for (const Motif& m : find_motifs(c.notes, one_phrase(c.notes), c.times)) {
            if (m.likeness == Likeness::rhythm) continue;
            for (const MotifPlace& p : m.places) {
                ++given;
                // Within it: the last planted notes may join on to what follows by chance.
                for (const std::size_t at : c.planted) {
                    if (p.first <= at + 1 && at <= p.first + 1) {
                        ++right;
                        break;
                    }
                }
            }
        }
    }
    const double recall = static_cast<double>(right) / static_cast<double>(planted);
    const double precision = static_cast<double>(right) / static_cast<double>(given);
    MESSAGE("precision ", precision, ", recall ", recall);
    CHECK(recall >= 0.9);
    CHECK(precision >= 0.9);
}

TEST_CASE("motifs: exact, transposed and rhythm alone are told apart, at their places") {
    const auto line = [](const std::vector<std::vector<int>>& groups,
                         const std::vector<double>& lengths) {
        Chorus c;
        double beat = 0.0;
        for (const auto& group : groups) {
            for (std::size_t i = 0; i < group.size(); ++i) {
                c.notes.push_back(note(0.5 * beat, 0.5 * beat + 0.1, group[i]));
                c.times.push_back(beat);
                beat += lengths[i];
            }
            beat += 2.0;
        }
        return c;
    };
    const std::vector<double> lengths = {0.5, 0.5, 1.0, 0.5, 1.0};
    const auto of = [&](const std::vector<std::vector<int>>& groups) {
        const Chorus c = line(groups, lengths);
        return find_motifs(c.notes, find_phrases(c.notes, {}), c.times);
    };
    const auto exact = of({{60, 62, 65, 64, 60}, {60, 62, 65, 64, 60}});
    REQUIRE(exact.size() == 1);
    CHECK(exact[0].likeness == Likeness::exact);
    CHECK(exact[0].notes == 5);
    CHECK(exact[0].places == std::vector<MotifPlace>{{0, 0}, {5, 0}});
    const auto moved = of({{60, 62, 65, 64, 60}, {65, 67, 70, 69, 65}, {58, 60, 63, 62, 58}});
    REQUIRE(moved.size() == 1);
    CHECK(moved[0].likeness == Likeness::transposed);
    CHECK(moved[0].places == std::vector<MotifPlace>{{0, 0}, {5, 5}, {10, -2}});
    const auto rhythm = of({{60, 62, 65, 64, 60}, {72, 69, 67, 71, 70}});
    REQUIRE(rhythm.size() == 1);
    CHECK(rhythm[0].likeness == Likeness::rhythm);
    CHECK(rhythm[0].notes == 5);
}

TEST_CASE("motifs: a plain run, one note again and again, and no notes are no figures") {
    std::vector<double> times;
    for (int i = 0; i < 24; ++i) {
        times.push_back(0.5 * i);
    }
    std::vector<Note> up;
    std::vector<Note> same;
    for (int i = 0; i < 24; ++i) {
        up.push_back(note(0.25 * i, 0.25 * i + 0.2, 40 + 2 * i));
        same.push_back(note(0.25 * i, 0.25 * i + 0.2, 60));
    }
    CHECK(find_motifs(up, one_phrase(up), times).empty());
    CHECK(find_motifs(same, one_phrase(same), times).empty());
    CHECK(find_motifs({}, {}, {}).empty());
}
