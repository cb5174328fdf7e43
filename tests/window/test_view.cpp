// window: real input events through real frames, without a screen; draw data and intents inspected.
#include <algorithm>
#include <cmath>

#include <doctest/doctest.h>

#include "headless.h"
#include "made_draft.h"
#include "ui/window/kit.h"
#include "ui/window/layout.h"
#include "ui/window/page.h"
#include "ui/window/typing.h"

using namespace bentline;
using namespace bentline::window;

namespace {

Axes axes_of(const State& s) {
    return {lay_out(1280, 720, 1, true).grid, s.look, s.rows};
}

bool apart(const Box& a, const Box& b) {
    return a.x1 <= b.x0 || b.x1 <= a.x0 || a.y1 <= b.y0 || b.y1 <= a.y0;
}

}  // namespace

TEST_CASE(
    "layout: the parts lie in the window and never on each other, at every size and density") {
    for (const auto& [w, h, scale] : {std::tuple{1280.F, 720.F, 1.F},
                                      {1920.F, 1080.F, 1.F},
                                      {2560.F, 1440.F, 2.F},
                                      {3840.F, 2160.F, 1.5F},
                                      {640.F, 400.F, 1.F}}) {
        const bool narrow = w < 960 * scale || h < 600 * scale;
        const Layout l = lay_out(w, h, scale, true);
        std::vector<Box> sheets{l.heading, l.overview, l.margin, l.stage, l.bench, l.transport};
        if (l.chart.w() > 0) sheets.push_back(l.chart);
        std::vector<Box> on_bench{l.counting, l.names, l.grid, l.slip};
        if (!narrow) on_bench.insert(on_bench.end(), {l.signature, l.manuscript});
        const auto check = [&](const std::vector<Box>& boxes) {
            for (std::size_t i = 0; i < boxes.size(); ++i) {
                CHECK(boxes[i].w() > 0);
                CHECK(boxes[i].h() > 0);
                CHECK(
                    (boxes[i].x0 >= 0 && boxes[i].y0 >= 0 && boxes[i].x1 <= w && boxes[i].y1 <= h));
                for (std::size_t j = 0; j < i; ++j)
                    CHECK(apart(boxes[i], boxes[j]));
            }
        };
        check(sheets);
        check(on_bench);
    }
}

TEST_CASE("view: at 1280 x 720 and at twice the density no label is cut short") {
    for (const float scale : {1.0F, 2.0F}) {
        Headless h(1280 * scale, 720 * scale, scale);
        State s = made_state();
        const auto check = [&](const char* what) {
            h.frame(s);
            h.frame(s);
            std::string cut;
            for (const std::string& label : h.scratch.shortened)
                cut += "[" + label + "] ";
            CHECK_MESSAGE(cut.empty(), what, ": ", cut);
        };
        check("at rest");
        for (const DraftNote& n : s.draft.notes) {
            s.pick = n.id;
            if (n.id.value <= 16) check("a note picked");
        }
        s.pick.reset();
        s.play.loop = SecondsRange{Seconds(3), Seconds(7)};
        s.play.speed = 0.5;
        check("a loop");
        s.measured = made_measure();
        check("a measure");
        s.measured.reset();
        s.work = {{"Following the soloist, pencilling notes", 0.43}};
        check("work");
        s.work.clear();
        s.unsaved = true;
        for (int i = 1; i < 40; ++i)
            s.done.push_back("bar " + std::to_string(i) + ": bend 100 c -> 50 c");
        for (const Overlay o :
             {Overlay::keys, Overlay::history, Overlay::confident, Overlay::bars, Overlay::hand_out,
              Overlay::guard, Overlay::chooser, Overlay::practice, Overlay::focus}) {
            s.overlay = o;
            show_made_folder(s.chooser);
            check("an overlay");
        }
        State empty;
        s = empty;
        check("nothing open");
        s = made_state();
        s.draft.bars.reset();
        check("no bars");
    }
}

TEST_CASE("view: a press on a bar of the chart goes there, a drag over bars loops them") {
    Headless h;
    State s = made_state();
    const Layout l = lay_out(1280, 720, 1, true);
    // The chart has eight lines of four bars; bar 6 is the second of the second line.
    const float left = l.chart.x0 + 6 + 36, w = (l.chart.x1 - 12 - left) / 4;
    const float top = l.chart.y0 + 28, line = (l.chart.y1 - 4 - top) / 8;
    const auto x = [&](int column) { return left + (static_cast<float>(column) + 0.5F) * w; };
    const auto go = those<intents::GoTo>(h.press(s, x(1), top + 1.5F * line));
    REQUIRE(go.size() == 1);
    CHECK(go[0].time.value() ==
          doctest::Approx(1.0 + 2.0 * 5));  // bar 6 at 120 in 4/4: five bars of 2 s
    const auto loops =
        those<intents::LoopBars>(h.drag(s, x(3), top + 0.5F * line, x(1), top + 1.5F * line));
    REQUIRE(loops.size() == 1);
    CHECK(loops[0] == intents::LoopBars{4, 6});
}

TEST_CASE("view: a drag over the counting makes a loop, a drag on its end moves the end") {
    Headless h;
    State s = made_state();
    const Axes a = axes_of(s);
    const float y = lay_out(1280, 720, 1, true).counting.mid_y();
    const auto made = those<intents::LoopOver>(h.drag(s, a.x(Seconds(3)), y, a.x(Seconds(5)), y));
    REQUIRE(made.size() == 1);
    const double pixel = 1.0 / static_cast<double>(a.pixels_a_second());
    CHECK(std::abs(made[0].from.value() - 3.0) < pixel);
    CHECK(std::abs(made[0].to.value() - 5.0) < pixel);
    s.play.loop = SecondsRange{Seconds(3), Seconds(5)};
    const auto moved =
        those<intents::LoopOver>(h.drag(s, a.x(Seconds(5)) - 2, y, a.x(Seconds(6)), y));
    REQUIRE(moved.size() == 1);
    CHECK(std::abs(moved[0].from.value() - 3.0) < pixel);
    CHECK(std::abs(moved[0].to.value() - 6.0) < pixel);
}

TEST_CASE("view: notes are picked, moved, lengthened and retuned with the mouse") {
    Headless h;
    State s = made_state();
    const Axes a = axes_of(s);
    const DraftNote& note = s.draft.notes[2];  // 2.0 to 2.4 s, G4
    const float x = a.x(note.note.onset + Seconds(0.2)), y = a.y(Pitch(note.note.key));
    const auto picked = those<intents::Pick>(h.press(s, x, y));
    REQUIRE(picked.size() == 1);
    CHECK(picked[0].note == note.id.value);
    s.pick = note.id;
    const auto asked = h.drag(s, x, y, x + a.pixels_a_second() * 0.1F, y - a.row_height());
    REQUIRE(those<intents::MoveNote>(asked).size() == 1);
    // The toolkit takes the mouse's place in whole pixels.
    const double pixel = 1.0 / static_cast<double>(a.pixels_a_second());
    CHECK(std::abs(those<intents::MoveNote>(asked)[0].by.value() - 0.1) < pixel);
    CHECK(those<intents::MoveNote>(asked)[0].edge == Edge::both);
    REQUIRE(those<intents::StepPitch>(asked).size() == 1);
    CHECK(those<intents::StepPitch>(asked)[0].semitones == 1);
    const float end = a.x(note.note.offset) - 1;
    const auto placed =
        those<intents::PlaceNote>(h.drag(s, end, y, end + a.pixels_a_second() * 0.05F, y));
    REQUIRE(placed.size() == 1);
    CHECK(placed[0].from.value() == doctest::Approx(2.0));
    CHECK(std::abs(placed[0].to.value() - 2.45) < pixel);
}

TEST_CASE("view: a drag along the line measures it, and moves no note that is not in hand") {
    Headless h;
    State s = made_state();
    const Axes a = axes_of(s);
    const DraftNote& note = s.draft.notes[2];  // 2.0 to 2.4 s, G4
    const float y = a.y(Pitch(note.note.key));
    const float from = a.x(note.note.onset) + 1, to = a.x(note.note.offset) - 1;
    const auto along = h.drag(s, from, y, to, y);
    const auto measured = those<intents::Measure>(along);
    REQUIRE(measured.size() == 1);
    CHECK(std::abs(measured[0].from.value() - 2.0) < 0.02);
    CHECK(std::abs(measured[0].to.value() - 2.4) < 0.02);
    CHECK(along.size() == 1);
    // In hand it is moved; with Shift its line can be measured all the same.
    s.pick = note.id;
    const float x = 0.5F * (from + to);
    CHECK(those<intents::MoveNote>(h.drag(s, x, y, x + 20, y)).size() == 1);
    ImGui::GetIO().KeyShift = true;
    CHECK(those<intents::Measure>(h.drag(s, x, y, x + 20, y)).size() == 1);
    ImGui::GetIO().KeyShift = false;
}

TEST_CASE("view: letters of more than 16 bits outlast a line to type on") {
    // A guitar, U+1F3B8: f0 9f 8e b8 (RFC 3629); in halves of ten bits of 0xF3B8, 0x3C and 0x3B8.
    const std::string guitar = "\xf0\x9f\x8e\xb8";
    CHECK(for_typing("a" + guitar + "\xc3\x98") == "a\xee\x80\xbc\xee\x9e\xb8\xc3\x98");
    CHECK(typed(for_typing("a" + guitar + "\xc3\x98")) == "a" + guitar + "\xc3\x98");
    CHECK(typed("a\xee\x80\xbc") == "a");  // its other half was rubbed out
    CHECK(typed(for_typing("")).empty());

    Headless h;
    State s = made_state();
    s.overlay = Overlay::bars;
    h.frame(s);
    std::array<char, 160>& title = h.scratch.bar_fields[4];
    const std::string name = "Tram " + guitar + guitar + " 7";
    title.fill('\0');
    name.copy(title.data(), title.size() - 1);
    // A press into the title takes the keyboard there: rows of 40 points, the fifth.
    h.press(s, 640 - 320 + 24 + 300, 360 - 205 + 62 + 4 * 40 + 15);
    CHECK(std::string(title.data()) == name);
    ImGui::GetIO().AddInputCharacter('!');
    h.frame(s);
    h.frame(s);
    CHECK(std::string(title.data()).find('!') != std::string::npos);
    CHECK(std::string(title.data()).find(guitar + guitar) != std::string::npos);
}

TEST_CASE("view: what is no UTF-8 can be typed on") {
    const auto typable = [](std::string bytes) {
        Kit::make_typable(bytes.data());
        return bytes;
    };
    CHECK(typable("take 7") == "take 7");
    CHECK(typable("\xc3\x98resund") == "\xc3\x98resund");
    CHECK(typable("\xd8resund\xff.mid") == "_resund_.mid");  // as Latin-1 has it
    CHECK(typable("\xe2\x99") == "__");                      // cut off in the middle of a letter
    CHECK(typable("") == "");
    // A name proposed in the chooser is made so before the field takes it.
    Headless h;
    State s = made_state();
    s.overlay = Overlay::chooser;
    s.chooser.purpose = Purpose::save;
    s.chooser.name = "\xff\xfe\xff";
    h.frame(s);
    h.frame(s);
    CHECK(std::string(h.scratch.typed.data()) == "___");
}

TEST_CASE("view: a drag over empty grid measures, with Alt it adds a note, a press goes there") {
    Headless h;
    State s = made_state();
    const Axes a = axes_of(s);
    const float y = a.y(Pitch(75.0));
    const auto measured =
        those<intents::Measure>(h.drag(s, a.x(Seconds(3)), y, a.x(Seconds(3.5)), y));
    REQUIRE(measured.size() == 1);
    CHECK(std::abs((measured[0].to - measured[0].from).value() - 0.5) < 0.01);
    ImGui::GetIO().KeyAlt = true;
    const auto added = those<intents::AddNote>(h.drag(s, a.x(Seconds(3)), y, a.x(Seconds(3.5)), y));
    ImGui::GetIO().KeyAlt = false;
    REQUIRE(added.size() == 1);
    CHECK(added[0].key == 75);
    const auto go = those<intents::GoTo>(h.press(s, a.x(Seconds(4)), y));
    REQUIRE(go.size() == 1);
    CHECK(std::abs(go[0].time.value() - 4.0) < 0.01);
}

TEST_CASE("view: the ends of the register and of the stage's place can be dragged") {
    Headless h;
    State s = made_state();
    s.draft.focus.highest = Pitch(74.0);
    const Layout l = lay_out(1280, 720, 1, true);
    const Axes a = axes_of(s);
    const float x = l.names.x0 + 12, top = a.y(Pitch(74.0)) - a.row_height() / 2;
    const auto reg = those<intents::SetRegister>(h.drag(s, x, top, x, top + 3 * a.row_height()));
    REQUIRE(reg.size() == 1);
    CHECK(reg[0].highest < 74);
    CHECK(reg[0].highest >= 70);
    CHECK(reg[0].lowest == 40);
    const auto stage = those<intents::SetStage>(
        h.drag(s, l.stage.x0 + 92, l.stage.mid_y(), l.stage.mid_x() - 20, l.stage.mid_y()));
    REQUIRE(stage.size() == 1);
    CHECK(stage[0].place == 0.0);
    CHECK(stage[0].width > 0.1);
    CHECK(stage[0].width < 1.0);
}

TEST_CASE(
    "view: keys ask for what the key map says, and not while something lies over the sheets") {
    Headless h;
    State s = made_state();
    CHECK(h.stroke(s, "space") == std::vector<Intent>{intents::PlayStop{}});
    CHECK(h.stroke(s, "enter") == std::vector<Intent>{intents::InkOn{}});
    CHECK(h.stroke(s, "ctrl+s") == std::vector<Intent>{intents::Save{}});
    CHECK(h.stroke(s, "shift+right") ==
          std::vector<Intent>{intents::MoveNote{Edge::start, Seconds(0.01)}});
    CHECK(h.stroke(s, "no such key").empty());
    s.remembered.keys["q"] = "play-stop";
    CHECK(h.stroke(s, "q") == std::vector<Intent>{intents::PlayStop{}});
    CHECK(h.stroke(s, "space").empty());  // the command has moved to another key
    s.overlay = Overlay::keys;
    CHECK(h.stroke(s, "enter").empty());
    CHECK(those<intents::Show>(h.stroke(s, "escape")) == std::vector{intents::Show{Overlay::none}});
}

TEST_CASE("view: a stroke made right after one that covers the sheets is meant for the cover") {
    Headless h;
    State s = made_state();
    h.frame(s);
    h.scratch.strokes = {"ctrl+q", "enter"};
    CHECK(h.frame(s) == std::vector<Intent>{intents::Leave{}});
    s.overlay = Overlay::guard;
    CHECK(h.frame(s) == std::vector<Intent>{intents::Unsaved{Answer::save}});
    CHECK(h.frame(s).empty());
}

TEST_CASE("view: what lies over the sheets is worked by keys alone") {
    Headless h;
    State s = made_state();
    s.overlay = Overlay::guard;
    h.frame(s);
    CHECK(h.stroke(s, "l") == std::vector<Intent>{intents::Unsaved{Answer::drop}});
    s.overlay = Overlay::confident;
    h.frame(s);
    CHECK(h.stroke(s, "enter") ==
          std::vector<Intent>{intents::InkConfident{}, intents::Show{Overlay::none}});
    s.overlay = Overlay::hand_out;
    h.frame(s);
    CHECK(h.stroke(s, "m") == std::vector<Intent>{intents::Choose{Purpose::midi}});
    s.overlay = Overlay::history;
    s.done = {"one", "two", "three"};
    h.frame(s);
    h.stroke(s, "up");
    CHECK(h.stroke(s, "enter") == std::vector<Intent>{intents::GoBackTo{2}});
}

TEST_CASE("view: what is typed in the chooser finds files, arrows choose, Enter opens") {
    Headless h;
    State s = made_state();
    s.overlay = Overlay::chooser;
    s.chooser.folder = "/music";
    s.chooser.entries = {{"takes", EntryKind::folder, 0},
                         {"ballad.wav", EntryKind::recording, 9},
                         {"blues.flac", EntryKind::recording, 9},
                         {"solo.bentline", EntryKind::draft, 9}};
    ImGuiIO& io = ImGui::GetIO();
    const auto enter = [&] {
        constexpr int key = 257;  // any index will do: the toolkit is told that it means Enter
        io.KeyMap[ImGuiKey_Enter] = key;
        io.KeysDown[key] = true;
        const auto asked = h.frame(s);
        io.KeysDown[key] = false;
        h.frame(s);
        return asked;
    };
    for (int i = 0; i < 3; ++i)
        h.frame(s);
    for (const char c : {'b', 'l'}) {
        io.AddInputCharacter(static_cast<unsigned>(c));
        h.frame(s);
    }
    CHECK(std::string(h.scratch.typed.data()) == "bl");
    CHECK(those<intents::Open>(enter()) == std::vector{intents::Open{"/music/blues.flac"}});
    s.overlay = Overlay::none;
    h.frame(s);
    s.overlay = Overlay::chooser;
    for (int i = 0; i < 3; ++i)
        h.frame(s);
    h.stroke(s, "down");
    h.stroke(s, "down");
    h.stroke(s, "up");
    CHECK(those<intents::Open>(enter()) == std::vector{intents::Open{"/music/ballad.wav"}});
    CHECK(those<intents::Show>(h.stroke(s, "escape")) == std::vector{intents::Show{Overlay::none}});
}

TEST_CASE("view: a chord is typed in its bar") {
    Headless h;
    State s = made_state();
    s.play.at = s.draft.bars->bar_span(3).from + Seconds(0.1);
    h.frame(s);
    h.stroke(s, "c");
    for (int i = 0; i < 3; ++i)
        h.frame(s);
    for (const char c : {'A', 'b', '7'}) {
        ImGui::GetIO().AddInputCharacter(static_cast<unsigned>(c));
        h.frame(s);
    }
    ImGui::GetIO().KeyMap[ImGuiKey_Enter] = 257;
    ImGui::GetIO().KeysDown[257] = true;
    CHECK(h.frame(s) == std::vector<Intent>{intents::SetChord{3, 1, "Ab7"}});
    ImGui::GetIO().KeysDown[257] = false;
    // While a chord is typed, letters are letters: no note was bent, nothing was added.
    CHECK(those<intents::StepBend>(h.all).empty());
}

TEST_CASE("view: the mouse works what lies over the sheets, and not the sheets below") {
    Headless h;
    State s = made_state();
    s.overlay = Overlay::guard;
    h.frame(s);
    h.frame(s);
    // The guard's sheet is 520 by 220 in the middle; its answers lie along its lower edge.
    const float x = 640 - 260 + 24, y = 360 + 110 - 18 - 22;
    CHECK(those<intents::Unsaved>(h.press(s, x + 70, y)) ==
          std::vector<intents::Unsaved>{{Answer::save}});
    CHECK(those<intents::Unsaved>(h.press(s, x + 370, y)) ==
          std::vector<intents::Unsaved>{{Answer::stay}});
    const Layout l = lay_out(1280, 720, 1, true);
    CHECK(h.press(s, l.transport.x0 + 34, l.transport.mid_y()).empty());
    CHECK(h.press(s, l.chart.x0 + 100, l.chart.y0 + 100).empty());
    s.overlay = Overlay::none;
    h.frame(s);
    CHECK(those<intents::PlayStop>(h.press(s, l.transport.x0 + 34, l.transport.mid_y())).size() ==
          1);
}

TEST_CASE("view: the transport's riders set speed and level") {
    Headless h;
    State s = made_state();
    const Layout l = lay_out(1280, 720, 1, true);
    const float y = l.transport.y0 + 8 + 38;
    // Somewhere on the first ruler: the leftmost third of what is right of the place.
    const auto asked = h.press(s, l.transport.x0 + 340, y - 4);
    REQUIRE_FALSE(those<intents::SetSpeed>(asked).empty());
    CHECK(those<intents::SetSpeed>(asked).back().speed >= 0.1);
    CHECK(those<intents::SetSpeed>(asked).back().speed < 1.0);
    const auto play = h.press(s, l.transport.x0 + 34, l.transport.mid_y());
    CHECK(those<intents::PlayStop>(play).size() == 1);
}

TEST_CASE("picture: a draft shows ink where its notes and its line are, and the same each time") {
    State s = made_state();
    const Image one = picture_of(s, 1280, 720, 1), two = picture_of(s, 1280, 720, 1);
    CHECK(one.rgba == two.rgba);
    const Axes a = axes_of(s);
    const auto dark_near = [&](const Image& image, float x, float y) {
        int darkest = 255;
        for (int dy = -3; dy <= 3; ++dy) {
            for (int dx = -3; dx <= 3; ++dx) {
                darkest = std::min<int>(
                    darkest, image.pixel(static_cast<int>(x) + dx, static_cast<int>(y) + dy)[0]);
            }
        }
        return darkest;
    };
    State without = s;
    without.draft.notes = NoteList();
    without.heard.line.reset();
    const Image blank = picture_of(without, 1280, 720, 1);
    for (const std::size_t i : {0U, 2U, 5U, 7U}) {
        const Note& n = s.draft.notes[i].note;
        const float x = a.x(n.onset + Seconds(0.2)), y = a.y(Pitch(n.key));
        CHECK(dark_near(one, x, y) < 120);    // ink on paper
        CHECK(dark_near(blank, x, y) > 120);  // only rules and tints
    }
    // The loop's bracket over the counting is in the second accent.
    s.play.loop = SecondsRange{Seconds(3), Seconds(5)};
    const Image looped = picture_of(s, 1280, 720, 1);
    const auto* p = looped.pixel(static_cast<int>(a.x(Seconds(4))),
                                 static_cast<int>(lay_out(1280, 720, 1, true).counting.y0) + 2);
    CHECK(p[2] > p[0] + 60);
}

TEST_CASE("picture: light and dark paper, small and large, all draw") {
    State s = made_state();
    s.remembered.dark = true;
    const Image dark = picture_of(s, 1280, 720, 1);
    CHECK(dark.pixel(640, 400)[0] < 90);
    const Image small = picture_of(s, 640, 400, 1);
    CHECK(small.width == 640);
    const Image large = picture_of(s, 2560, 1440, 2);
    CHECK(large.height == 1440);
}

TEST_CASE("view: a stretch far longer than what is looked at costs no more than one in view") {
    Headless h;
    State s = made_state();
    const auto corners = [&](SecondsRange measured) {
        Measured m;
        m.span = measured;
        m.first = m.last = Pitch(60.0);
        m.moved = Cents(30);
        s.measured = m;
        h.frame(s);
        return ImGui::GetDrawData()->TotalVtxCount;
    };
    const int in_view = corners({s.look.from, s.look.to});
    CHECK(corners({Seconds(-1e5), Seconds(1e5)}) <= in_view + 200);
}

TEST_CASE(
    "view: rows and names follow the key that was told, else the one that the score proposes") {
    State s = made_state();
    s.draft.key.reset();
    for (Section& section : s.draft.form)
        section.key.reset();
    s.written = Written{};
    CHECK_FALSE(shown_key(s, Seconds(1)));
    auto score = std::make_shared<Score>();
    score->key = Key{-3, false};
    s.written.score = score;
    CHECK(shown_key(s, Seconds(1)) == Key{-3, false});
    // The first part's notes may propose another key than all of them.
    s.key_waits = true;
    CHECK_FALSE(shown_key(s, Seconds(1)));
    s.draft.key = Key{2, false};
    CHECK(shown_key(s, Seconds(1)) == Key{2, false});
}
