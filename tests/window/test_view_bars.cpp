// window: the mouse on beat lines and on the manuscript.
#include <cmath>
#include <memory>

#include <doctest/doctest.h>

#include "headless.h"
#include "made_draft.h"
#include "ui/window/layout.h"

using namespace bentline;
using namespace bentline::window;

namespace {

Axes axes_of(const State& s) {
    return {lay_out(1280, 720, 1, true).grid, s.look, s.rows};
}

}  // namespace

TEST_CASE("view: a beat line is taken by its foot and moved") {
    Headless h;
    State s = made_state();
    const Axes a = axes_of(s);
    const float y = lay_out(1280, 720, 1, true).counting.y1 - 4;
    // At 120, bar 1 at 1 s: beat 4, the first of bar 2, is at 3 s.
    const auto moved =
        those<intents::DragBeat>(h.drag(s, a.x(Seconds(3)), y, a.x(Seconds(3.1)), y));
    REQUIRE(moved.size() == 1);
    CHECK(moved[0].beat == 4);
    CHECK(std::abs(moved[0].to.value() - 3.1) < 0.02);
    s.play.playing = true;  // not while it plays: there the press makes a loop
    CHECK(those<intents::DragBeat>(h.drag(s, a.x(Seconds(3)), y, a.x(Seconds(3.1)), y)).empty());
}

TEST_CASE("view: a press on a fret takes the note to its next string, on a head it picks it") {
    Headless h;
    State s = made_state();
    const Box b = lay_out(1280, 720, 1, true).manuscript;
    const Axes a{b, s.look, s.rows};
    ManuscriptLine line;
    line.from = Seconds(0);
    line.spaces_a_second = static_cast<double>(a.pixels_a_second() / staff_space);
    line.covers = {Seconds(0), Seconds(20)};
    line.tab_down = 5.4;
    const DraftNote& note = s.draft.notes[2];
    const double x = note.note.onset.value() * line.spaces_a_second;
    engraving::Mark fret{engraving::Part::fret, 0, note.id, {x - 0.5, -0.6, x + 0.5, 0.6}, {}};
    fret.shape = engraving::TextShape{"8", engraving::Face::figures, 1.9, {x - 0.5, 0.6}};
    engraving::Mark head{engraving::Part::head, 0, note.id, {x - 0.6, -0.5, x + 0.6, 0.5}, {}};
    head.shape = engraving::GlyphShape{engraving::Glyph::head_black, {x - 0.6, 0}, 1.0};
    line.tab = {fret};
    line.staff = {head};
    s.manuscript = std::make_shared<const ManuscriptLine>(line);
    const float staff_y = b.y0 + 52, tab_y = staff_y + 5.4F * staff_space;
    const float at = a.x(note.note.onset);
    CHECK(h.press(s, at, tab_y) ==
          std::vector<Intent>{intents::Pick{note.id.value}, intents::StepString{1}});
    CHECK(h.press(s, at, staff_y) == std::vector<Intent>{intents::Pick{note.id.value}});
    ImGui::GetIO().KeyShift = true;
    CHECK(h.press(s, at, tab_y) ==
          std::vector<Intent>{intents::Pick{note.id.value}, intents::AnyString{}});
    ImGui::GetIO().KeyShift = false;
    CHECK(those<intents::GoTo>(h.press(s, at + 15, tab_y + 20)).size() == 1);
}

TEST_CASE(
    "view: the balance of recording and draft on the transport, by rider and by key; apart by "
    "key") {
    Headless h;
    State s = made_state();
    h.frame(s);
    const Box b = lay_out(1280, 720, 1, true).transport;
    const float from = b.x0 + 14 + 40 + 16 + 196, to = b.x1 - 14;
    const float w = (to - from - 132 - 4 * 20) / 4, x0 = from + 2 * (w + 20) + 5, y = b.y0 + 8 + 38;
    const auto half = those<intents::SetBalance>(h.drag(s, x0, y - 4, x0 + 0.5F * (w - 10), y - 4));
    REQUIRE_FALSE(half.empty());
    CHECK(half.back().balance == doctest::Approx(0.5));
    // One key goes from the recording to both, to the draft, and back.
    for (const auto& [now, next] : {std::pair{0.0, 0.5}, {0.5, 1.0}, {1.0, 0.0}}) {
        s.play.balance = now;
        h.all.clear();
        h.stroke(s, "ctrl+b");
        CHECK(those<intents::SetBalance>(h.all) == std::vector<intents::SetBalance>{{next}});
    }
    s.overlay = Overlay::practice;
    h.frame(s);
    h.all.clear();
    h.stroke(s, "s");
    CHECK(those<intents::HearApart>(h.all) == std::vector<intents::HearApart>{{true}});
    CHECK(h.scratch.shortened.empty());
}
