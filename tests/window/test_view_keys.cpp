// view: what could be reached by mouse only is reached by keys: practice, focus, the list of keys,
// the last files.
#include <vector>

#include <doctest/doctest.h>

#include "headless.h"
#include "made_draft.h"

using namespace bentline;
using namespace bentline::window;

namespace {

// What the last of some strokes asks for; the overlay's own frame comes first.
std::vector<Intent> after(Headless& h, const State& s, const std::vector<std::string>& strokes) {
    std::vector<Intent> asked;
    for (const std::string& one : strokes)
        asked = h.stroke(s, one);
    return asked;
}

}  // namespace

TEST_CASE("practice: arrows choose a row and change it, Enter takes words and outputs") {
    Headless h;
    State s = made_state();
    s.overlay = Overlay::practice;
    s.play.devices = {"Hall", "Desk"};
    h.frame(s);
    CHECK(after(h, s, {"right"}) == std::vector<Intent>{intents::SetCountIn{1}});
    CHECK(after(h, s, {"left"}).empty());  // it is none already
    CHECK(after(h, s, {"down", "enter"}) ==
          std::vector<Intent>{intents::SetTrainer{0.5, 0.05, 1.0, 2}});
    s.play.trainer = SpeedTrainer{};
    const auto from = those<intents::SetTrainer>(after(h, s, {"down", "right"}));
    REQUIRE(from.size() == 1);
    CHECK(from[0].start == doctest::Approx(s.play.trainer->start + 0.05));
    // Behind the four rulers and the word the outputs, the system's own choice first.
    CHECK(after(h, s, {"down", "down", "down", "down", "enter"}) ==
          std::vector<Intent>{intents::HearApart{true}});
    CHECK(after(h, s, {"down", "down", "enter"}) ==
          std::vector<Intent>{intents::ChooseDevice{"Hall"}});
    CHECK(after(h, s, {"down", "down", "down", "enter"}) ==
          std::vector<Intent>{intents::ChooseDevice{"Desk"}});
    CHECK(h.scratch.shortened.empty());
}

TEST_CASE("focus: register and stage by keys, a rider tells its value once, when it is let go") {
    Headless h;
    State s = made_state();
    s.draft.focus.lowest = Pitch(50);
    s.draft.focus.highest = Pitch(51);
    s.overlay = Overlay::focus;
    h.frame(s);
    CHECK(after(h, s, {"left"}) == std::vector<Intent>{intents::SetRegister{49, 51}});
    CHECK(after(h, s, {"right"}) == std::vector<Intent>{intents::SetRegister{50, 51}});
    CHECK(after(h, s, {"down", "right"}) == std::vector<Intent>{intents::SetRegister{50, 52}});
    CHECK(after(h, s, {"down", "left"}) == std::vector<Intent>{intents::SetStage{-0.05, 2.0}});
    const auto width = those<intents::SetStage>(after(h, s, {"down", "left"}));
    REQUIRE(width.size() == 1);
    CHECK(width[0].width == doctest::Approx(1.9));
    CHECK(after(h, s, {"down", "enter"}) ==
          std::vector<Intent>{intents::Show{Overlay::none}, intents::Repencil{}});
    // The sheet lies on the bench's foot, 268 points high; its first ruler is half as wide.
    const Layout l = lay_out(1280, 720, 1, true);
    const float left = l.bench.x0 + 10 + 24, y = 720 - 268 - 8 + 62 + 34;
    const auto dragged = those<intents::SetRegister>(h.drag(s, left + 60, y, left + 200, y));
    CHECK(dragged.size() == 1);
    CHECK(h.scratch.shortened.empty());
}

TEST_CASE("keys: the list is walked by arrows; Enter, then a stroke, binds") {
    Headless h;
    State s = made_state();
    s.overlay = Overlay::keys;
    h.frame(s);
    CHECK(after(h, s, {"down", "enter"}).empty());
    const auto bound = those<intents::BindKey>(after(h, s, {"f9"}));
    REQUIRE(bound.size() == 1);
    CHECK(bound[0].stroke == "f9");
    const auto other = those<intents::BindKey>(after(h, s, {"right", "down", "enter", "f10"}));
    REQUIRE(other.size() == 1);
    CHECK(other[0].command != bound[0].command);
    CHECK(h.scratch.shortened.empty());
}

TEST_CASE("keys: level, tuning, beats and measuring need no mouse") {
    Headless h;
    State s = made_state();
    s.play.level = Decibels(-18);
    s.play.at = s.draft.bars->bar_span(3).from;
    h.frame(s);
    CHECK(after(h, s, {"alt+="}) == std::vector<Intent>{intents::SetLevel{Decibels(-16)}});
    CHECK(after(h, s, {"shift+-"}) == std::vector<Intent>{intents::SetRetune{Cents(-5)}});
    // Bar 3 begins at 5 s; a beat lasts 0.5 s.
    CHECK(after(h, s, {"shift+pagedown"}) == std::vector<Intent>{intents::GoTo{Seconds(5.5)}});
    CHECK(after(h, s, {"shift+pageup"}) == std::vector<Intent>{intents::GoTo{Seconds(4.5)}});
    CHECK(after(h, s, {"shift+,"}) == std::vector<Intent>{intents::DragBeat{8, Seconds(4.99)}});
    s.pick = s.draft.notes[4].id;
    const Note& note = s.draft.notes[4].note;
    CHECK(after(h, s, {"shift+m"}) ==
          std::vector<Intent>{intents::Measure{note.onset, note.offset}});
}

TEST_CASE("welcome: the files of the evenings before open by figure, while nothing is open") {
    Headless h;
    State s;
    s.remembered.recent = {"/music/one.flac", "/music/two.bentline"};
    h.frame(s);
    CHECK(after(h, s, {"2"}) == std::vector<Intent>{intents::Open{"/music/two.bentline"}});
    CHECK(those<intents::Open>(after(h, s, {"3"})).empty());
    s = made_state();
    s.remembered.recent = {"/music/one.flac"};
    CHECK(those<intents::Open>(after(h, s, {"1"})).empty());
}
