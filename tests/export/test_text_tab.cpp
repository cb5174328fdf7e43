// text tab: aligned by beat, as players type it.
#include <sstream>

#include <doctest/doctest.h>

#include "engine/export/text_tab.h"
#include "tests/export/small_drafts.h"

using namespace bentline;
using namespace bentline::testing;

namespace {

std::vector<std::string> lines_of(const Draft& draft, TextTabSettings settings = {}) {
    const auto text = text_tab_of(draft, WhichNotes::inked, settings);
    REQUIRE(text.ok());
    std::vector<std::string> lines;
    std::istringstream in(*text);
    for (std::string line; std::getline(in, line);)
        lines.push_back(line);
    return lines;
}

Draft pinned(Draft draft, std::vector<int> strings) {
    for (std::size_t i = 0; i < strings.size(); ++i)
        draft = apply(draft, SetPin{{draft.notes[i].id}, Pin{strings[i], {}}}).value();
    return draft;
}

}  // namespace

TEST_CASE("text tab: a bar of quarters stands under its beats") {
    Draft heading = in_four_four();
    heading.title = "Harbour Lights Out";
    heading.chords = {"C6 G7"};
    // G4 A4 on string 2, B4 E5 on string 1 [standard tuning: frets 8, 10, 7, 12].
    const Draft draft = pinned(inked(heading, {on_beat(0, 1, 67), on_beat(1, 2, 69),
                                               on_beat(2, 3, 71), on_beat(3, 4, 76)}),
                               {2, 2, 1, 1});
    const auto lines = lines_of(draft);
    const std::vector<std::string> expected = {
        "Harbour Lights Out", "Guitar: E2 A2 D3 G3 B3 E4",
        "120 beats a minute", "",
        "    C6    G7",       "1   1  2  3  4",
        "e  |------7--12-|",  "B  |8--10-------|",
        "G  |------------|",  "D  |------------|",
        "A  |------------|",  "E  |------------|",
    };
    for (std::size_t i = 0; i < expected.size(); ++i)
        CHECK(lines.at(i) == expected[i]);
}

TEST_CASE("text tab: a pickup stands in the first section's line, and its letter over its bar") {
    Draft heading = in_four_four();
    heading.form = {{"A", 1, 2}, {"B", 3, 2}};
    heading.bars = BarMap::constant(Tempo(120.0), Seconds(1.0)).value();
    std::vector<Note> notes = {on_beat(-1, 0, 67)};
    for (int i = 0; i < 16; ++i)
        notes.push_back(on_beat(i, i + 1, 64));
    const auto lines = lines_of(inked(heading, notes));
    std::vector<std::string> letters;
    std::vector<std::string> thin;
    for (const std::string& line : lines) {
        if (line.find('[') != std::string::npos) letters.push_back(line);
        if (line[0] == 'e') thin.push_back(line);
    }
    REQUIRE(letters.size() == 2);
    REQUIRE(thin.size() == 2);
    CHECK(std::count(thin[0].begin(), thin[0].end(), '|') == 4);  // the pickup and bars 1 and 2
    CHECK(letters[0].find('[') == thin[0].find('|', 4) + 1);
    CHECK(letters[1] == "[B]");
}

TEST_CASE("text tab: a passage holds its own notes and no others") {
    const Draft draft = pinned(inked(in_four_four(), {on_beat(0, 1, 67), on_beat(4, 5, 69),
                                                      on_beat(5, 6, 71), on_beat(8, 9, 72)}),
                               {2, 2, 2, 2});
    const Score score = write_score(draft, WhichNotes::inked).value();
    const DraftFingering fingering = finger_draft(draft, WhichNotes::inked).value();
    // Frets of string 2 [B3 = 59]: 8, 10, 12, 13. The second alone, in bar 2.
    const auto passage = tab_passage(score, fingering, {draft.notes[1].id});
    CHECK(passage.lines.find("10") != std::string::npos);
    CHECK(passage.lines.find("12") == std::string::npos);
    CHECK(passage.lines.find("13") == std::string::npos);
    CHECK(passage.lines.find("8") == std::string::npos);
    CHECK(passage.lines.substr(passage.lines.find('\n') + 1, 1) == "2");
    CHECK(passage.signs.empty());
    CHECK(tab_passage(score, fingering, {}).lines.empty());
}

TEST_CASE("text tab: the signs that players type, and a legend for them") {
    const Draft draft = pinned(
        inked(in_four_four(),
              {on_beat(0, 1, 67, {Bend{Cents(200.0), {}, {}, true, false, {}}}),
               on_beat(1, 2, 69, {SlideIn{MidiKey(67), {}}}), on_beat(2, 3, 67, {SlideToNext{}}),
               on_beat(3, 4, 65, {Accent{}}),
               on_beat(4, 6, 67, {Vibrato{Hertz(5.0), Cents(25.0), {}}, SlideOut{MidiKey(60), {}}}),
               on_beat(6, 8, 66, {Bend{Cents(100.0), {}, {}, false, true, {}}})}),
        {2, 2, 2, 2, 2, 2});
    const auto lines = lines_of(draft);
    std::string strings;
    for (const std::string& line : lines) {
        if (line[0] == 'B') strings += line;
    }
    for (const char* sign : {"8b10r8", "8/10", "8s", ">6", "8~\\", "7pb8"})
        CHECK_MESSAGE(strings.find(sign) != std::string::npos, sign << " in " << strings);
    const std::string& legend = lines.at(lines.size() - 2);
    for (const char* word : {"vibrato", "slide", "released", "accent"})
        CHECK(legend.find(word) != std::string::npos);
    std::string plain;
    for (const std::string& line : lines_of(draft, {true, 76})) {
        if (line[0] == 'B') plain += line;
    }
    CHECK(plain.find_first_of("br/\\~ps") == std::string::npos);
}

TEST_CASE("text tab: every row of a line is equally long, and fits the width") {
    for (int i = 0; i < 6; ++i) {
        const Draft draft = made_chorus(i, 6);
        const auto lines = lines_of(draft);
        std::size_t width = 0;
        std::size_t rows = 0;
        for (const std::string& line : lines) {
            const bool string = line.size() > 3 && line[3] == '|' && line.back() == '|';
            if (!string) {
                if (rows > 0) CHECK(rows == static_cast<std::size_t>(draft.neck.strings()));
                rows = 0;
                continue;
            }
            if (rows > 0) CHECK(line.size() == width);
            width = line.size();
            ++rows;
            // One bar alone may be wider.
            const auto bars = std::count(line.begin(), line.end(), '|') - 1;
            CHECK((line.size() <= 77 || bars == 1));
        }
        CHECK(rows == 0);
    }
}

TEST_CASE("text tab: a note without a spot is named, an empty draft and one without bars refused") {
    const auto lines = lines_of(inked(in_four_four(), {on_beat(0, 1, 60), on_beat(1, 2, 20)}));
    bool named = false;
    for (const std::string& line : lines)
        named = named || line.find("bar 1: G#0") != std::string::npos ||
                line.find("bar 1: Ab0") != std::string::npos;
    CHECK(named);
    CHECK_FALSE(text_tab_of(in_four_four(), WhichNotes::inked).ok());
    Draft without = inked(in_four_four(), {on_beat(0, 1, 60)});
    without.bars.reset();
    const auto refused = text_tab_of(without, WhichNotes::inked);
    REQUIRE_FALSE(refused.ok());
    CHECK(refused.failure().kind == FailureKind::bad_draft);
}
