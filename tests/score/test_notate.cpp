// notate: how engravers write given lengths, by hand, and what must hold for any.
#include <doctest/doctest.h>

#include "engine/score/notate.h"
#include "engine/score/pulses.h"
#include "tests/score/score_text.h"
#include "tests/support/dice.h"

using namespace bentline;
using bentline::testing::fault_of;
using bentline::testing::full_text;
using bentline::testing::rhythm_text;

namespace {

struct Placed {
    int start;
    int length;
};

std::vector<NotatedMeasure> notated(const std::vector<Placed>& places, Metre metre, int bars = 1,
                                    Grid grid = Grid::eighths) {
    const BarMap map = BarMap::constant(Tempo(120.0), Seconds(1.0), metre).value();
    QuantisedLine line;
    line.pulses = pulses_of_bars(map, 1, bars);
    for (Pulse& p : line.pulses)
        p.grid = grid;
    for (const Placed& p : places)
        line.notes.push_back({Ticks(p.start), Ticks(p.length)});
    return notate(line, std::vector<Metre>(static_cast<std::size_t>(bars), metre));
}

std::string bar(const std::vector<Placed>& places, Metre metre = {4, 4},
                Grid grid = Grid::eighths) {
    return rhythm_text(notated(places, metre, 1, grid).front().measure);
}

// Only the beams of the bar's heads.
std::string beams(const std::vector<Placed>& places, Metre metre = {4, 4}) {
    const std::string text = full_text(notated(places, metre).front().measure);
    std::string kept;
    for (const char c : text) {
        if (std::string("[=]<> ").find(c) != std::string::npos) kept += c;
    }
    return kept;
}

}  // namespace

// Sources of these: Gould, Behind Bars (2011), chapters on rhythm and on rests; from memory.
TEST_CASE(
    "notate: the middle of a 4/4 bar stays visible, except under whole beats [Gould, from "
    "memory]") {
    CHECK(bar({{0, 480}, {480, 960}, {1440, 480}}) == "4 2 4");
    CHECK(bar({{0, 720}, {720, 480}, {1200, 720}}) == "4. 8~ ~8 4.");
    CHECK(bar({{0, 1200}, {1200, 720}}) == "2~ ~8 4.");
    CHECK(bar({{0, 1440}, {1440, 480}}) == "2. 4");
    CHECK(bar({{0, 1920}}) == "1");
    CHECK(bar({{0, 1680}, {1680, 240}}) == "2~ ~4. 8");
    CHECK(bar({{480, 1440}}) == "r4 2.");
    CHECK(bar({{240, 1680}}) == "r8 4.~ ~2");
}

TEST_CASE("notate: syncopation stands inside a half bar [Gould, from memory]") {
    CHECK(bar({{0, 240}, {240, 480}, {720, 240}, {960, 240}, {1200, 720}}) == "8 4 8 8 4.");
}

TEST_CASE("notate: finer than an eighth, every beat shows [Gould, from memory]") {
    CHECK(bar({{0, 360}, {360, 240}, {600, 360}, {960, 960}}) == "8. 16~ ~16 8. 2");
    CHECK(bar({{0, 120}, {120, 240}, {360, 120}, {480, 480}, {960, 960}}) == "16 8 16 4 2");
    CHECK(bar({{0, 600}, {600, 360}, {960, 960}}) == "4~ ~16 8. 2");
}

TEST_CASE("notate: rests are grouped by the metre [Gould, from memory]") {
    CHECK(bar({{0, 480}}) == "4 r4 r2");
    CHECK(bar({{240, 240}}) == "r8 8 r4 r2");
    CHECK(bar({{0, 240}}) == "8 r8 r4 r2");
    CHECK(bar({{720, 240}}) == "r4 r8 8 r2");
    CHECK(bar({{1440, 480}}) == "r2 r4 4");
    CHECK(bar({{0, 120}}) == "16 r16 r8 r4 r2");
    CHECK(bar({}) == "rbar");
    CHECK(bar({}, {3, 4}) == "rbar");
    CHECK(bar({{0, 480}}, {3, 4}) == "4 r4 r4");
}

TEST_CASE("notate: triplets are bracketed, and tied out of") {
    CHECK(bar({{0, 160}, {160, 160}, {320, 160}, {480, 480}, {960, 960}}) == "3:2(8 8 8) 4 2");
    CHECK(bar({{0, 160}, {160, 160}, {320, 640}, {960, 960}}) == "3:2(8 8 8~) ~4 2");
    CHECK(bar({{160, 320}, {480, 480}, {960, 960}}) == "3:2(r8 4) 4 2");
    CHECK(bar({{0, 320}, {320, 160}, {480, 1440}}) == "3:2(4 8) 2.");
    CHECK(bar({{0, 80}, {80, 80}, {160, 80}, {240, 240}, {480, 1440}}, {4, 4}, Grid::sextuplets) ==
          "3:2(16 16 16) 8 2.");
    CHECK(bar({{0, 80}, {80, 80}, {160, 80}, {240, 80}, {320, 80}, {400, 80}, {480, 1440}}, {4, 4},
              Grid::sextuplets) == "6:4(16 16 16 16 16 16) 2.");
}

TEST_CASE("notate: quarter triplets are bracketed over two beats") {
    const auto pair = [](const std::vector<Placed>& places) {
        const BarMap map = BarMap::constant(Tempo(120.0), Seconds(1.0), Metre{4, 4}).value();
        QuantisedLine line;
        line.pulses = pulses_of_bars(map, 1, 1);
        line.pulses[0].grid = Grid::quarter_triplets;
        line.pulses[1].grid = Grid::second_of_pair;
        for (const Placed& p : places)
            line.notes.push_back({Ticks(p.start), Ticks(p.length)});
        return rhythm_text(notate(line, {Metre{4, 4}}).front().measure);
    };
    CHECK(pair({{0, 320}, {320, 320}, {640, 320}, {960, 960}}) == "3:2(4 4 4) 2");
    CHECK(pair({{320, 320}, {640, 800}}) == "3:2(r4 4 4~) ~4 r4");
}

TEST_CASE("notate: compound metres count dotted quarters") {
    CHECK(bar({{0, 480}, {480, 240}, {720, 720}}, {6, 8}) == "4 8 4.");
    CHECK(bar({{0, 1440}}, {6, 8}) == "2.");
    CHECK(bar({{240, 720}}, {6, 8}) == "r8 4~ ~8 r8 r8");
    CHECK(bar({{0, 240}}, {6, 8}) == "8 r8 r8 r4.");
    CHECK(bar({{0, 1440}, {1440, 1440}}, {12, 8}) == "2. 2.");
}

TEST_CASE("notate: lengths are tied over bar lines") {
    const auto measures = notated({{0, 1680}, {1680, 960}}, {4, 4}, 2);
    CHECK(rhythm_text(measures[0].measure) == "2~ ~4. 8~");
    CHECK(rhythm_text(measures[1].measure) == "~4. r8 r2");
}

TEST_CASE("notate: four plain eighths share a beam, all else goes by the beat [common practice]") {
    CHECK(beams({{0, 240}, {240, 240}, {480, 240}, {720, 240}, {960, 960}}) == "[ = = ] ");
    CHECK(beams({{0, 120}, {120, 120}, {240, 240}, {480, 240}, {720, 240}, {960, 960}}) ==
          "[[ =] ] [ ] ");
    CHECK(beams({{0, 360}, {360, 120}, {480, 480}, {960, 960}}) == "[ ]<  ");
    CHECK(beams({{0, 240}, {240, 240}, {480, 240}, {720, 240}, {960, 240}, {1200, 240}}, {6, 8}) ==
          "[ = ] [ = ]");
}

TEST_CASE("notate: random lines in many metres add up exactly, in every bar") {
    bentline::testing::Dice dice(41);
    const std::vector<Metre> metres = {{4, 4}, {3, 4}, {2, 4},  {5, 4}, {7, 4},  {6, 4},
                                       {2, 2}, {3, 2}, {6, 8},  {9, 8}, {12, 8}, {5, 8},
                                       {7, 8}, {3, 8}, {3, 16}, {1, 4}};
    int bars = 0;
    for (const Metre& metre : metres) {
        for (int round = 0; round < 30; ++round) {
            const BarMap map = BarMap::constant(Tempo(120.0), Seconds(1.0), metre).value();
            QuantisedLine line;
            line.pulses = pulses_of_bars(map, 1, 6);
            std::vector<Ticks> places;
            for (Pulse& p : line.pulses) {
                const Grid grids[] = {Grid::eighths, Grid::eighths, Grid::sixteenths,
                                      Grid::triplets, Grid::sextuplets};
                p.grid = grids[dice.next() % (p.compound ? 3 : 5)];
                const int count = p.compound                ? (p.grid == Grid::sixteenths ? 6 : 3)
                                  : p.grid == Grid::eighths ? 2
                                  : p.grid == Grid::sixteenths ? 4
                                  : p.grid == Grid::triplets   ? 3
                                                               : 6;
                for (int k = 0; k < count; ++k) {
                    if (!dice.chance(1.0 / 3))
                        places.push_back(p.start + Ticks(p.length.value() * k / count));
                }
            }
            const Ticks end = line.pulses.back().start + line.pulses.back().length;
            for (std::size_t i = 0; i < places.size(); ++i) {
                const Ticks next = i + 1 < places.size() ? places[i + 1] : end;
                if (dice.chance(0.25)) continue;  // a rest there
                line.notes.push_back({places[i], next - places[i]});
            }
            Score score;
            for (NotatedMeasure& m : notate(line, std::vector<Metre>(6, metre))) {
                score.measures.push_back(std::move(m.measure));
            }
            bars += 6;
            CHECK_MESSAGE(fault_of(score).empty(), to_text(metre), " ", fault_of(score));
        }
    }
    CHECK(bars == 16 * 30 * 6);
}
