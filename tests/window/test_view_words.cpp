// window: what the grid's rows, the chart, the slip and the manuscript say.
#include <algorithm>
#include <cmath>
#include <memory>
#include <set>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "engine/score/write_score.h"
#include "headless.h"
#include "made_draft.h"
#include "ui/window/layout.h"
#include "ui/window/page.h"

using namespace bentline;
using namespace bentline::window;

namespace {

// What a frame writes, in order.
std::vector<Scratch::Written> written(Headless& h, const State& s) {
    h.scratch.texts = Scratch::Texts{};
    h.frame(s);
    h.frame(s);
    std::vector<Scratch::Written> all = h.scratch.texts->all;
    h.scratch.texts.reset();
    return all;
}

const Scratch::Written* find_text(const std::vector<Scratch::Written>& all,
                                  const std::string& text) {
    const auto found =
        std::find_if(all.begin(), all.end(), [&](const auto& one) { return one.text == text; });
    return found == all.end() ? nullptr : &*found;
}

std::size_t corners_drawn() {
    return static_cast<std::size_t>(ImGui::GetDrawData()->TotalVtxCount);
}

}  // namespace

TEST_CASE("rows: the picked note's row has its name at every height, and no name touches another") {
    Headless h;
    State s = made_state();
    for (const int rows : {20, 24, 40, 60}) {
        s.rows = {40, 40 + rows};
        s.pick = s.draft.notes[12].id;  // the 13th: E flat again
        const std::vector<Scratch::Written> all = written(h, s);
        const Layout l = lay_out(1280, 720, 1, true);
        CHECK(find_text(all, "E♭4") != nullptr);
        std::vector<float> names;
        for (const Scratch::Written& one : all) {
            const bool in_column = one.box.x0 >= l.names.x0 + 20 && one.box.x0 < l.names.x0 + 30;
            if (in_column && one.box.y0 > l.names.y0 - 8 && one.box.y1 < l.names.y1 + 8)
                names.push_back(one.box.y0);
        }
        REQUIRE(names.size() > 5);
        std::sort(names.begin(), names.end());
        for (std::size_t i = 1; i < names.size(); ++i)
            CHECK(names[i] - names[i - 1] >= 9.0F);
    }
}

TEST_CASE("rows: degrees and position follow the chord that sounds, also the second of a bar") {
    Headless h;
    State s = made_state();
    s.position = 8;
    // Bar 5 is "Gm7 C7" at 120 in 4/4 from 1 s: C7 sounds from its third beat, 10 s.
    s.look = {Seconds(9), Seconds(11)};
    s.play.at = Seconds(9.1);
    CHECK(find_text(written(h, s), "Gm7") != nullptr);
    s.play.at = Seconds(10.1);
    const std::vector<Scratch::Written> later = written(h, s);
    CHECK(find_text(later, "Gm7") == nullptr);
    CHECK(find_text(later, "C7") != nullptr);
    CHECK(find_text(later, "pos. VIII") != nullptr);
}

TEST_CASE("slip: a note's place in its chord, by the chord's second half too") {
    const State s = made_state();
    Note note;
    note.onset = Seconds(9.0);
    note.key = MidiKey(70);  // B flat over Gm7: its minor third
    CHECK(degree_words(s, note) == "♭3 of Gm7");
    note.onset = Seconds(10.0);  // over C7: its minor seventh
    CHECK(degree_words(s, note) == "♭7 of C7");
    note.key = MidiKey(66);  // F sharp is no tone of C7
    CHECK(degree_words(s, note).empty());
}

TEST_CASE("form: choruses alike in few words") {
    CHECK(form_words(parse_form("AABA").value()) == "AABA");
    CHECK(form_words(repeated(parse_form("AABA").value(), 3)) == "AABA × 3");
    CHECK(form_words(parse_form("A12").value()) == "A12");
    CHECK(form_words(parse_form("A16B12").value()) == "A16B12");
    CHECK(form_words({}) == "");
}

TEST_CASE("form: choruses begin where the letters come again, though one of them was changed") {
    const auto bars = [](const char* text, int times) {
        return chorus_bars(repeated(parse_form(text).value(), times));
    };
    CHECK(bars("AABA", 1).empty());
    CHECK(bars("AABA", 3) == std::vector<int>{1, 33, 65});
    CHECK(bars("A12", 4) == std::vector<int>{1, 13, 25, 37});  // a blues
    CHECK(bars("ABCD", 1).empty());
    // The second eight of the first chorus falls into two fours.
    Form form = repeated(parse_form("AABA").value(), 3);
    form[1].bars = 4;
    form.insert(form.begin() + 2, Section{"C", 13, 4});
    CHECK(chorus_bars(form) == std::vector<int>{1, 33, 65});
    CHECK(form_words(form) == "3 choruses");
    CHECK(form_words(repeated(parse_form("A12").value(), 4)) == "A12 × 4");
}

TEST_CASE("chart: each chorus has its number; a pickup has a line of its own before bar 1") {
    Headless h;
    State s = made_state(96);
    s.draft.form = repeated(parse_form("AABA").value(), 3);
    s.draft.chords.assign(96, "");
    const auto in_margin = [&](const std::string& text) {
        const Layout l = lay_out(1280, 720, 1, true);
        for (const Scratch::Written& one : written(h, s))
            if (one.text == text && one.box.x0 < l.chart.x0 + 12) return true;
        return false;
    };
    CHECK(in_margin("1"));
    h.scratch.chart_scroll = 480;
    CHECK(in_margin("2"));
    CHECK_FALSE(in_margin("1"));
    // With a pickup bar 1 still begins a line: its number stands in the margin, one line further.
    s = made_state();
    h.scratch.chart_scroll = 0;
    const auto down = [&](const char* number) {
        for (const Scratch::Written& one : written(h, s))
            if (one.text == number && one.box.x1 < lay_out(1280, 720, 1, true).chart.x0 + 44)
                return one.box.y0;
        return -1.0F;
    };
    const float first = down("1"), second = down("5");
    REQUIRE(first > 0);
    s.draft.bars = s.draft.bars->with_pickup(1).value();
    CHECK(down("1") > first + 0.5F * (second - first));
    CHECK(down("5") > down("1"));
    CHECK(down("4") < 0);
}

TEST_CASE("grid and chart: a section in another key is named where it begins") {
    Headless h;
    State s = made_state();
    s.draft.form[2].key = Key{1, false};  // B, bars 17 to 24, in G
    const Seconds begins = s.draft.bars->bar_span(17).from;
    s.look = {begins - Seconds(2), begins + Seconds(2)};
    CHECK(find_text(written(h, s), "G major") != nullptr);
    CHECK(find_text(written(h, s), "G") != nullptr);
    s.look = {begins - Seconds(6), begins - Seconds(2)};
    CHECK(find_text(written(h, s), "G major") == nullptr);
}

TEST_CASE("manuscript: a new signature is drawn before its bar line, sign by sign") {
    State s = made_state();
    const auto corners_with = [&](std::optional<Key> key) {
        Headless h;
        State now = s;
        auto score =
            std::make_shared<Score>(write_score(s.draft, WhichNotes::inked_and_pencilled).value());
        for (Measure& m : score->measures)
            if (m.number == 3) m.key = key;
        now.written.score = score;
        const Axes a{lay_out(1280, 720, 1, true).manuscript, s.look, s.rows};
        ManuscriptLine line;
        line.spaces_a_second = static_cast<double>(a.pixels_a_second() / staff_space);
        line.covers = {Seconds(0), Seconds(20)};
        now.manuscript = std::make_shared<const ManuscriptLine>(line);
        h.frame(now);
        h.frame(now);
        return corners_drawn();
    };
    const std::size_t same = corners_with(std::nullopt);
    // From E flat: four sharps of E major; three naturals where C major has no signs. A sign has
    // four corners.
    CHECK(corners_with(Key{4, false}) == same + 4 * 4);
    CHECK(corners_with(Key{0, false}) == same + 3 * 4);
    CHECK(corners_with(Key{-3, true}) == same);  // another mode, the same signature
}

TEST_CASE("manuscript: with everything in view the solo's swells stand in its place") {
    Headless h;
    State s = made_state();
    s.look = {Seconds(0), s.duration()};
    const auto all = written(h, s);
    CHECK(find_text(all, "The solo's swells, beside its loudest moment") != nullptr);
    // Without the line, by the notes' own levels; without either nothing is drawn.
    s.heard.line.reset();
    h.frame(s);
    const std::size_t by_notes = corners_drawn();
    std::vector<Note> silent = made_notes();
    for (Note& n : silent)
        n.level.reset();
    Draft draft = s.draft;
    draft.notes = NoteList{};
    s.draft = pencil(std::move(draft), silent).value();
    h.frame(s);
    CHECK(corners_drawn() + 400 < by_notes);
    s.look = {Seconds(0), Seconds(8)};
    CHECK(find_text(written(h, s), "The solo's swells, beside its loudest moment") == nullptr);
}

TEST_CASE("chart: chords too long for one line stand whole in two") {
    Headless h;
    State s = made_state();
    s.draft.chords[1] = "F#m7b5 Bbmaj7#11";
    const auto all = written(h, s);
    const Scratch::Written* upper = find_text(all, "F♯m7♭5");
    const Scratch::Written* lower = find_text(all, "B♭maj7♯11");
    REQUIRE((upper != nullptr && lower != nullptr));
    CHECK(lower->box.y0 - upper->box.y0 >= 11.0F);
    CHECK(h.scratch.shortened.empty());
}

TEST_CASE("type: letters of other scripts are found wanting, and loaded once") {
    {
        Headless h;
        State s = made_state();
        h.frame(s);
        CHECK(h.scratch.unknown.empty());
        s.draft.title = "Жар 東";
        h.frame(s);
        CHECK(h.scratch.unknown == std::set<char16_t>{u'Ж', u'а', u'р', u'東'});
    }
    {
        // What is typed, too, though the toolkit writes it.
        Headless h;
        State s = made_state();
        s.overlay = Overlay::bars;
        h.frame(s);
        CHECK(h.scratch.unknown.empty());
        const std::string title = "Жар";
        title.copy(h.scratch.bar_fields[4].data(), title.size());
        h.frame(s);
        CHECK(h.scratch.unknown == std::set<char16_t>{u'Ж', u'а', u'р'});
    }
    Toolkit toolkit(1);
    (void)toolkit.texture();
    CHECK(toolkit.fonts().title->FindGlyphNoFallback(u'Ж') == nullptr);
    CHECK(toolkit.learn({u'Ж', u'р'}));
    (void)toolkit.texture();
    // In the spare face, which the window's type needs anyway.
    CHECK(toolkit.fonts().title->FindGlyphNoFallback(u'Ж') != nullptr);
    CHECK(!toolkit.learn({u'р'}));
}
