// engraving: what stands where on a page, by the rules of engraving and of arithmetic.
#include <algorithm>
#include <cmath>
#include <set>

#include <doctest/doctest.h>

#include "engine/export/engraving/check.h"
#include "engine/export/engraving/line.h"
#include "tests/export/sheets.h"

using namespace bentline;
using namespace bentline::engraving;
using bentline::testing::chorus;
using bentline::testing::EngravedDraft;
using bentline::testing::SheetMix;
using bentline::testing::spread_of_choruses;

namespace {

const Fonts& fonts() {
    static const Fonts loaded = load_fonts().value();
    return loaded;
}

// Bars of 4/4, each filled with heads of one length, one pitch.
Score plain_bars(int bars, int denominator, SpelledPitch pitch = {'C', 0, 4}) {
    Score score;
    score.title = "Two Oars";
    score.tempo = Tempo(120.0);
    std::uint32_t id = 1;
    for (int b = 0; b < bars; ++b) {
        Measure measure;
        measure.number = b + 1;
        measure.length = 4 * quarter;
        const Ticks length = length_of({denominator, 0});
        for (Ticks at{0}; at < measure.length; at += length) {
            Event event{at, length, {denominator, 0}, false, Head{}};
            event.head->pitch = pitch;
            event.head->note = NoteId{id++};
            measure.events.push_back(event);
        }
        score.measures.push_back(measure);
    }
    return score;
}

Sheet engraved(const Score& score, const TabPlan& tab = {}, const Settings& settings = {}) {
    return engrave(score, tab, {}, fonts(), settings).value();
}

std::vector<Mark> marks_of(const Sheet& sheet, Part part) {
    std::vector<Mark> found;
    for (const Page& page : sheet.pages) {
        for (const System& system : page.systems) {
            for (const Mark& mark : system.marks) {
                if (mark.part == part) found.push_back(mark);
            }
        }
    }
    return found;
}

std::string faults(const Sheet& sheet) {
    std::string all;
    for (const Collision& c : find_collisions(sheet))
        all += to_text(c) + "\n";
    return all;
}

}  // namespace

TEST_CASE("engraving: heads stand where the octave clef puts them") {
    // Guitar music is written an octave above its sound (common practice): sounding C4 is written
    // C5, in the third space, half a space above the middle line; the low E is written E4 … an
    // octave and a fifth lower than B4, on the third ledger line: 5.5 spaces below the middle line.
    CHECK(staff_height({'B', 0, 3}) == 0.0);
    CHECK(staff_height({'C', 0, 4}) == -0.5);
    CHECK(staff_height({'E', 0, 2}) == 5.5);
    CHECK(staff_height({'E', -1, 5}) == -5.0);
    const Sheet sheet = engraved(plain_bars(1, 4, {'E', 0, 4}));
    for (const Mark& head : marks_of(sheet, Part::head)) {
        const double middle = (head.box.top + head.box.bottom) / 2.0;
        CHECK(middle - (sheet.pages[0].systems[0].staff_top + 2.0) == doctest::Approx(-1.5));
    }
}

TEST_CASE("engraving: bends are counted in whole tones, to the quarter tone") {
    CHECK(bend_figure(0.5) == "¼");
    CHECK(bend_figure(1.0) == "½");
    CHECK(bend_figure(1.5) == "¾");
    CHECK(bend_figure(2.0) == "full");
    CHECK(bend_figure(3.0) == "1½");
    CHECK(bend_figure(4.0) == "2");
}

TEST_CASE("engraving: a gap grows by the stated factor for each doubling of its time") {
    const Settings settings;
    const double eighth = natural_gap(Ticks(240), settings);
    CHECK(eighth == doctest::Approx(settings.eighth));
    CHECK(natural_gap(Ticks(480), settings) == doctest::Approx(eighth * settings.growth));
    CHECK(natural_gap(Ticks(1920), settings) ==
          doctest::Approx(eighth * std::pow(settings.growth, 3)));
    CHECK(natural_gap(Ticks(120), settings) == doctest::Approx(eighth / settings.growth));
}

TEST_CASE("engraving: four bars a line where they fit, fewer where they do not") {
    const Sheet quarters = engraved(plain_bars(16, 4));
    std::vector<std::size_t> bars;
    for (const System& system : quarters.pages[0].systems)
        bars.push_back(system.bars.size());
    CHECK(bars == std::vector<std::size_t>{4, 4, 4, 4});
    // Sixteen sixteenths need at least 16 heads' width (1.3 spaces each) and air: four such bars
    // are wider than 110 spaces of an A4 line, two are not.
    const Sheet sixteenths = engraved(plain_bars(8, 16));
    for (const Page& page : sixteenths.pages) {
        for (const System& system : page.systems)
            CHECK(system.bars.size() == 2);
    }
}

TEST_CASE("engraving: lines are full but for the last, which is not pulled apart") {
    const Sheet sheet = engraved(plain_bars(9, 4));
    const auto& systems = sheet.pages[0].systems;
    REQUIRE(systems.size() == 3);
    const double full = sheet.width - 2.0 * sheet.margin;
    for (std::size_t i = 0; i + 1 < systems.size(); ++i)
        CHECK(systems[i].bars.back().right - systems[i].bars.front().left ==
              doctest::Approx(full).epsilon(0.005));
    const System& last = systems.back();
    CHECK(last.bars.back().right - last.bars.front().left < 0.5 * full);
}

TEST_CASE("engraving: a section opens a line, and the short line before it is not pulled apart") {
    // A pickup, six bars, eight bars, one bar, one bar, three bars.
    Score score = plain_bars(20, 4);
    for (Measure& measure : score.measures)
        --measure.number;
    const std::vector<std::pair<std::size_t, const char*>> sections{
        {1, "A"}, {7, "B"}, {15, "C"}, {16, "D"}, {17, "E"}};
    for (const auto& [measure, letter] : sections)
        score.measures[measure].section = letter;
    const Sheet sheet = engraved(score);
    std::vector<std::vector<std::size_t>> lines;
    std::vector<double> widths;
    for (const System& system : sheet.pages[0].systems) {
        lines.emplace_back();
        for (const BarSpan& bar : system.bars)
            lines.back().push_back(bar.measure);
        widths.push_back(system.bars.back().right - system.bars.front().left);
    }
    // A section of one bar may share a line; no other section begins inside one.
    const std::vector<std::vector<std::size_t>> wanted{{0, 1, 2, 3, 4},  {5, 6},   {7, 8, 9, 10},
                                                       {11, 12, 13, 14}, {15, 16}, {17, 18, 19}};
    CHECK(lines == wanted);
    CHECK(widths[1] < 0.7 * widths[0]);
    CHECK(widths[2] == doctest::Approx(widths[0]).epsilon(0.005));
    CHECK(faults(sheet).empty());
}

TEST_CASE("engraving: a new key after a double line, announced at a line's end, naturals to none") {
    // Bars 1 and 2 have three flats, 3 to 5 two sharps, from bar 9 none, from bar 11 four sharps.
    Score score = plain_bars(12, 4);
    score.key = {-3, false};
    score.measures[2].key = Key{2, false};
    score.measures[8].key = Key{0, true};
    score.measures[10].key = Key{4, false};
    CHECK(key_at(score, 1) == Key{-3, false});
    CHECK(key_at(score, 7) == Key{2, false});
    CHECK(key_at(score, 11) == Key{4, false});
    const Sheet sheet = engraved(score);
    CHECK(faults(sheet) == "");
    const auto& systems = sheet.pages[0].systems;
    REQUIRE(systems.size() == 3);
    // [sign] how many of a line's key signs stand left of x `from` … `to`.
    const auto signs = [&](const System& system, Glyph glyph, double from, double to) {
        int count = 0;
        for (const Mark& mark : system.marks) {
            const auto* shape = std::get_if<GlyphShape>(&mark.shape);
            if (mark.part == Part::key && shape != nullptr && shape->glyph == glyph &&
                mark.box.left >= from && mark.box.right <= to)
                ++count;
        }
        return count;
    };
    const auto lines_at = [&](const System& system, double x) {
        int count = 0;
        for (const Mark& mark : system.marks) {
            if (mark.part == Part::bar_line && std::abs(mark.box.right - x) < 1.0 &&
                mark.box.top < system.staff_top + 1.0)
                ++count;
        }
        return count;
    };
    const System& first = systems[0];
    CHECK(signs(first, Glyph::flat, 0.0, first.bars[0].right) == 3);
    CHECK(signs(first, Glyph::sharp, first.bars[2].left, first.bars[2].right) == 2);
    CHECK(signs(first, Glyph::natural, 0.0, sheet.width) == 0);
    CHECK(lines_at(first, first.bars[1].right) == 2);
    CHECK(lines_at(first, first.bars[0].right) == 1);
    const System& second = systems[1];
    CHECK(signs(second, Glyph::sharp, 0.0, second.bars[0].right) == 2);
    CHECK(signs(second, Glyph::natural, second.bars[3].right, sheet.width) == 2);
    CHECK(lines_at(second, second.bars[3].right) == 2);
    const System& third = systems[2];
    CHECK(signs(third, Glyph::natural, 0.0, sheet.width) == 0);
    CHECK(signs(third, Glyph::sharp, third.bars[2].left, third.bars[2].right) == 4);
    // The key to the relative minor shows nothing.
    Score relative = plain_bars(4, 4);
    relative.measures[2].key = Key{0, true};
    CHECK(marks_of(engraved(relative), Part::key).empty());
    CHECK(marks_of(engraved(relative), Part::bar_line).size() ==
          10);  // staff and tablature, two at the end
}

TEST_CASE("engraving: one grace note has a flag and a stroke, several have two beams") {
    for (const std::size_t count : {1U, 2U, 5U}) {
        for (const int step : {-1, 0, 1}) {
            for (const bool slides : {false, true}) {
                Score score = plain_bars(1, 4);
                Head& head = *score.measures[0].events[1].head;
                for (std::size_t i = 0; i < count; ++i) {
                    const auto letters = "CDEFGAB";
                    const int place = 21 + step * (static_cast<int>(i) - 2);
                    head.graces.push_back(
                        {{letters[place % 7], i == 0 ? 1 : 0, 1 + place / 7}, i == 0, {}});
                }
                if (slides) head.signs.push_back(SlideInSign{});
                CAPTURE(count);
                CAPTURE(step);
                const Sheet sheet = engraved(score);
                CHECK(faults(sheet) == "");
                CHECK(marks_of(sheet, Part::flag).size() == (count == 1 ? 1 : 0));
                // Heads, and the stroke of one alone; two beams from each stem to the next.
                CHECK(marks_of(sheet, Part::grace).size() == (count == 1 ? 2 : count));
                CHECK(marks_of(sheet, Part::beam).size() == 2 * (count - 1));
            }
        }
    }
}

TEST_CASE("engraving: every head and every fret stands on the page once, in order of time") {
    const EngravedDraft draft = chorus({.seed = 5, .bars = 16, .signs = 0.5});
    const Sheet sheet = engraved(draft.score, draft.tab);
    std::size_t heads = 0;
    std::set<NoteId> notes;
    for (const Measure& measure : draft.score.measures) {
        for (const Event& event : measure.events) {
            if (!event.head) continue;
            ++heads;
            notes.insert(event.head->note);
        }
    }
    CHECK(marks_of(sheet, Part::head).size() == heads);
    std::set<NoteId> fretted;
    for (const Mark& fret : marks_of(sheet, Part::fret))
        fretted.insert(*fret.note);
    for (const NoteId id : notes)
        CHECK(fretted.count(id) == 1);
    for (const Page& page : sheet.pages) {
        for (const System& system : page.systems) {
            double x = 0.0;
            for (const Mark& mark : system.marks) {
                if (mark.part != Part::head) continue;
                CHECK(mark.box.left > x);
                x = mark.box.left;
            }
        }
    }
}

TEST_CASE("engraving: a fret stands on its string, and the string's line stops beside it") {
    Score score = plain_bars(1, 1);
    for (const int string : {1, 4, 6, 8}) {
        TabPlan tab{string > 6 ? 8 : 6, {{NoteId{1}, {string, 12}}}};
        const Sheet sheet = engraved(score, tab);
        const auto frets = marks_of(sheet, Part::fret);
        REQUIRE(frets.size() == 1);
        CHECK(std::get<TextShape>(frets[0].shape).text == "12");
        const Box& box = frets[0].box;
        const double line = sheet.pages[0].systems[0].tab_top + (string - 1) * tab_gap;
        CHECK((box.top + box.bottom) / 2.0 == doctest::Approx(line).epsilon(0.001));
        CHECK(marks_of(sheet, Part::tab_line).size() >= static_cast<std::size_t>(tab.strings) + 1);
        for (const Mark& mark : marks_of(sheet, Part::tab_line))
            CHECK_FALSE(mark.box.overlaps(box));
    }
    // A note that has no place is not left out in silence.
    const auto unknown = marks_of(engraved(score), Part::fret);
    REQUIRE(unknown.size() == 1);
    CHECK(std::get<TextShape>(unknown[0].shape).text == "?");
}

TEST_CASE("engraving: chord symbols get real flats and sharps") {
    CHECK(printed_chord("Bb7b9") == "B♭7♭9");
    CHECK(printed_chord("F#m7b5/A") == "F♯m7♭5/A");
    CHECK(printed_chord("Eb6/Bb") == "E♭6/B♭");
    CHECK(printed_chord("Abmaj7") == "A♭maj7");
    CHECK(printed_chord("N.C.") == "N.C.");
}

TEST_CASE("engraving: nothing overlaps and nothing leaves the page: 14 generated choruses") {
    for (std::uint64_t i = 0; i < 14; ++i) {
        Settings settings;
        if (i % 2 == 1) settings.paper = Paper::letter;
        settings.measured = i % 6 == 2;
        settings.tab = i % 8 != 7;
        const EngravedDraft draft = chorus(spread_of_choruses(i));
        CHECK_MESSAGE(faults(engraved(draft.score, draft.tab, settings)).empty(), "chorus ", i,
                      ": ", faults(engraved(draft.score, draft.tab, settings)));
    }
}

TEST_CASE("engraving: the checker itself finds what is moved onto something else") {
    const EngravedDraft draft = chorus({.seed = 2, .bars = 8, .signs = 0.2});
    Sheet sheet = engraved(draft.score, draft.tab);
    REQUIRE(find_collisions(sheet).empty());
    auto& marks = sheet.pages[0].systems[0].marks;
    const auto find = [&](Part part) {
        return std::find_if(marks.begin(), marks.end(),
                            [&](const Mark& m) { return m.part == part; });
    };
    const auto chord = find(Part::chord);
    const auto head = find(Part::head);
    REQUIRE(chord != marks.end());
    REQUIRE(head != marks.end());
    const Mark kept = *chord;
    *chord = moved(kept, head->box.left - kept.box.left, head->box.top - kept.box.top);
    CHECK_FALSE(find_collisions(sheet).empty());
    *chord = moved(kept, 0.0, -sheet.height);
    const auto off = find_collisions(sheet);
    REQUIRE(off.size() == 1);
    CHECK(off[0].a == Part::chord);
}

TEST_CASE("engraving: no bars, one bar, 128 bars") {
    const auto none = engrave(Score{}, {}, {}, fonts());
    REQUIRE_FALSE(none.ok());
    CHECK(none.failure().kind == FailureKind::out_of_range);
    const Sheet one = engraved(plain_bars(1, 4));
    CHECK(one.pages.size() == 1);
    CHECK(faults(one).empty());
    const Sheet many = engraved(plain_bars(128, 8));
    CHECK(many.pages.size() >= 4);
    CHECK(faults(many).empty());
    std::size_t bars = 0;
    for (const Page& page : many.pages) {
        for (const System& system : page.systems)
            bars += system.bars.size();
    }
    CHECK(bars == 128);
}

TEST_CASE("engraving: a bar too dense for a line makes the staff smaller, not the notes collide") {
    const Sheet sheet = engraved(plain_bars(1, 64));
    CHECK(sheet.space_mm < Settings{}.space_mm);
    CHECK(faults(sheet).empty());
}
