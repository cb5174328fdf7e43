// optimum: no fingering takes less effort than the one found, by trying them all.
#include <algorithm>
#include <functional>
#include <vector>

#include <doctest/doctest.h>

#include "engine/tab/finger_rules.h"
#include "engine/tab/fingering.h"
#include "tests/tab/lines.h"

using namespace bentline;
using namespace bentline::testing;

namespace {

struct Tried {
    double least = forbidden;
    long long complete = 0;
};

// Depth first over every way of every note, with nothing remembered between branches. A branch ends
// where it and the least that each later note can cost come to more than `bound` or than the best
// whole answer so far; efforts of at least 0 make that safe, so that nothing below the bound is
// missed.
class TryAll {
  public:
    TryAll(const FingeringRequest& request, double bound,
           std::function<bool(const std::vector<Way>&)> accept)
        : rules_(request, settings_), accept_(std::move(accept)), bound_(bound) {
        for (std::size_t i = 0; i < rules_.notes(); ++i) {
            choices_.push_back(rules_.ways(i));
            if (choices_.back().empty()) choices_.back() = rules_.ways_out();
        }
        still_.assign(choices_.size() + 1, 0.0);
        for (std::size_t i = choices_.size(); i-- > 0;) {
            double least = forbidden;
            for (const Way& way : choices_[i]) {
                const double own = rules_.own_effort(i, way);
                if (i == 0) least = std::min(least, own);
                for (std::size_t b = 0; i > 0 && b < choices_[i - 1].size(); ++b) {
                    least = std::min(least, own + rules_.step_effort(i, choices_[i - 1][b], way));
                }
            }
            still_[i] = still_[i + 1] + least;
        }
    }
    Tried run() {
        descend(0.0);
        return tried_;
    }

  private:
    void descend(double effort) {
        const std::size_t note = taken_.size();
        if (effort >= tried_.least || effort + still_[note] > bound_) return;
        if (note == choices_.size()) {
            ++tried_.complete;
            if (accept_(taken_)) tried_.least = effort;
            return;
        }
        std::vector<std::pair<double, Way>> next;
        for (const Way& way : choices_[note]) {
            double cost = rules_.own_effort(note, way);
            if (note > 0) cost += rules_.step_effort(note, taken_.back(), way);
            for (std::size_t j = 0; j < note; ++j) {
                if (rules_.overlap(j, note) && !rules_.together(taken_[j], way)) cost = forbidden;
            }
            if (cost < forbidden) next.emplace_back(cost, way);
        }
        // The cheapest first, so that good answers cut the rest early.
        std::sort(next.begin(), next.end(),
                  [](const auto& a, const auto& b) { return a.first < b.first; });
        for (const auto& [cost, way] : next) {
            taken_.push_back(way);
            descend(effort + cost);
            taken_.pop_back();
        }
    }

    FingeringSettings settings_;
    FingerRules rules_;
    std::function<bool(const std::vector<Way>&)> accept_;
    std::vector<std::vector<Way>> choices_;
    std::vector<double> still_;  // the least that notes i and later can cost, each for itself
    double bound_;
    std::vector<Way> taken_;
    Tried tried_;
};

FingeringRequest random_request(std::uint64_t seed) {
    Dice dice(seed);
    FingeringRequest request;
    request.neck = random_neck(dice);
    LineOptions options;
    options.rings = dice.chance(0.3);
    request.notes = random_line(dice, static_cast<std::size_t>(dice.whole(1, 8)), options);
    if (dice.chance(0.3)) {
        const auto i =
            static_cast<std::size_t>(dice.whole(0, static_cast<int>(request.notes.size()) - 1));
        request.pins.push_back({i, dice.whole(1, request.neck.strings())});
    }
    request.sweeps = find_sweeps(request.notes, request.neck);
    return request;
}

}  // namespace

TEST_CASE(
    "optimum: the effort found is the least of all fingerings, on 150 lines of 1 to 8 notes") {
    double worst = 1.0;
    int compared = 0;
    for (std::uint64_t seed = 0; seed < 150; ++seed) {
        CAPTURE(seed);
        const FingeringRequest request = random_request(seed);
        const auto found = find_fingering(request);
        REQUIRE(found.ok());
        const bool whole = std::all_of(found->notes.begin(), found->notes.end(),
                                       [](const FingeredNote& n) { return n.spot.has_value(); });
        // With notes left out, their price is beyond what trying can bound; there it is enough that
        // no way to place every note exists.
        const double bound = whole ? found->effort + 1e-6 : forbidden;
        if (!whole && request.notes.size() > 5) continue;
        TryAll all(request, bound, [](const std::vector<Way>&) { return true; });
        const Tried tried = all.run();
        if (!whole) {
            CHECK((tried.least == forbidden || tried.least >= FingeringSettings{}.unplaced));
            continue;
        }
        ++compared;
        CHECK(tried.complete > 0);
        // The same terms summed in the same order; a rounding apart at most.
        CHECK(found->effort <= tried.least * (1.0 + 1e-12) + 1e-12);
        CHECK(found->effort >= tried.least * (1.0 - 1e-12) - 1e-12);
        if (tried.least > 0.0) worst = std::max(worst, found->effort / tried.least);
    }
    CHECK(compared > 100);
    MESSAGE("lines compared: ", compared, ", worst ratio to the optimum: ", worst);
}

TEST_CASE("optimum: alternatives differ as promised, and each is the best that does") {
    int asked = 0;
    for (std::uint64_t seed = 500; seed < 530; ++seed) {
        CAPTURE(seed);
        FingeringRequest request = random_request(seed);
        if (request.notes.size() > 6) request.notes.resize(6);
        request.sweeps.clear();
        request.pins.clear();
        const std::size_t count = request.notes.size();
        const auto found = find_alternatives(request, {0, count});
        REQUIRE(found.ok());
        REQUIRE_FALSE(found->empty());
        CHECK(found->front().notes == find_fingering(request)->notes);
        const auto least = static_cast<int>((count + 3) / 4);
        const auto differing = [&](const Fingering& a, const std::vector<int>& strings) {
            int different = 0;
            for (std::size_t i = 0; i < count; ++i) {
                const int string = a.notes[i].spot ? a.notes[i].spot->string : 0;
                if (string != strings[i]) ++different;
            }
            return different;
        };
        std::vector<std::vector<int>> earlier;
        const bool whole = std::all_of(found->front().notes.begin(), found->front().notes.end(),
                                       [](const FingeredNote& n) { return n.spot.has_value(); });
        for (const Fingering& one : *found) {
            for (const auto& strings : earlier)
                CHECK(differing(one, strings) >= least);
            if (!earlier.empty()) {
                CHECK(one.effort >= found->front().effort - 1e-9);
                if (whole) {
                    ++asked;
                    TryAll all(request, one.effort + 1e-6, [&](const std::vector<Way>& ways) {
                        return std::all_of(earlier.begin(), earlier.end(),
                                           [&](const auto& strings) {
                                               int different = 0;
                                               for (std::size_t i = 0; i < count; ++i) {
                                                   if (ways[i].string != strings[i]) ++different;
                                               }
                                               return different >= least;
                                           });
                    });
                    CHECK(one.effort == doctest::Approx(all.run().least).epsilon(1e-9));
                }
            }
            std::vector<int> strings;
            for (const FingeredNote& n : one.notes)
                strings.push_back(n.spot ? n.spot->string : 0);
            earlier.push_back(strings);
        }
    }
    CHECK(asked > 20);
}

TEST_CASE("optimum: alternatives for a passage leave the strings outside it alone") {
    Dice dice(77);
    FingeringRequest request;
    LineOptions options;
    options.inflected = 0.1;
    options.lowest = 55;
    options.highest = 76;
    request.notes = random_line(dice, 32, options);
    const NoteSpan passage{10, 18};
    const auto found = find_alternatives(request, passage);
    REQUIRE(found.ok());
    REQUIRE(found->size() == 3);
    for (std::size_t a = 1; a < 3; ++a) {
        int inside = 0;
        for (std::size_t i = 0; i < 32; ++i) {
            const bool same = (*found)[a].notes[i].spot == found->front().notes[i].spot;
            if (i < passage.first || passage.last <= i) CHECK(same);
            if (passage.first <= i && i < passage.last && !same) ++inside;
        }
        CHECK(inside >= 2);  // a quarter of eight
    }
    CHECK_FALSE(find_alternatives(request, {5, 5}).ok());
    CHECK_FALSE(find_alternatives(request, {5, 33}).ok());
    CHECK_FALSE(find_alternatives(request, {5, 6}, 4).ok());
}
