// notes: a slide that ends where the next note begins leads there, not to nowhere.
#include <vector>

#include <doctest/doctest.h>

#include "engine/notes/arrivals.h"

using namespace bentline;

namespace {

// A note on D4 that slides to `to` at its end, and `gap` after it a note on `next`.
std::vector<Note> slid_out(int to, int next, double gap) {
    Note first;
    first.onset = Seconds(1.0);
    first.offset = Seconds(1.5);
    first.key = MidiKey(62);
    const SecondsRange span{Seconds(1.4), Seconds(1.5)};
    first.inflections.push_back({SlideOut{MidiKey(to), span}, 0.7, "left its pitch"});
    Note second;
    second.onset = Seconds(1.5 + gap);
    second.offset = Seconds(2.0);
    second.key = MidiKey(next);
    return {first, second};
}

}  // namespace

TEST_CASE("notes: a slide out that ends on the next note as it begins is a slide to it") {
    for (const int next : {60, 65, 57}) {
        CAPTURE(next);
        auto line = slid_out(next, next, 0.0);
        notes::read_arrivals(line);
        REQUIRE(line[0].inflections.size() == 1);
        const SlideToNext* slide = find<SlideToNext>(line[0]);
        REQUIRE(slide != nullptr);
        CHECK(slide->span == SecondsRange{Seconds(1.4), Seconds(1.5)});
        CHECK(line[0].inflections[0].confidence == 0.7);
    }
}

TEST_CASE("notes: the line that goes over one fret to the next note early is no slide") {
    auto line = slid_out(63, 63, 0.01);
    notes::read_arrivals(line);
    CHECK(line[0].inflections.empty());
}

TEST_CASE("notes: a slide to nowhere stays one") {
    // Another pitch follows; the same one later; nothing.
    for (auto line : {slid_out(59, 64, 0.0), slid_out(59, 59, 0.2)}) {
        const auto before = line;
        notes::read_arrivals(line);
        CHECK(line == before);
        line.pop_back();
        notes::read_arrivals(line);
        CHECK(line[0] == before[0]);
    }
}
