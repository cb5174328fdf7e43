// view: the chart of long forms: section letters typed in place, bars followed while playing.
#include <algorithm>
#include <array>
#include <cmath>

#include <doctest/doctest.h>

#include "headless.h"
#include "made_draft.h"
#include "ui/window/layout.h"

using namespace bentline;
using namespace bentline::window;

namespace {

void type(Headless& h, const State& s, const std::string& text) {
    for (int i = 0; i < 3; ++i)
        h.frame(s);
    for (const char c : text) {
        ImGui::GetIO().AddInputCharacter(static_cast<unsigned>(c));
        h.frame(s);
    }
    ImGui::GetIO().KeyMap[ImGuiKey_Enter] = 257;
    ImGui::GetIO().KeysDown[257] = true;
    h.frame(s);
    ImGui::GetIO().KeysDown[257] = false;
    h.frame(s);
}

// A form of so many bars, in sections of eight.
State long_state(int bars) {
    State s = made_state(bars);
    s.draft.form.clear();
    for (int first = 1; first <= bars; first += 8)
        s.draft.form.push_back({first % 16 == 1 ? "A" : "B", first, std::min(8, bars + 1 - first)});
    s.draft.chords.assign(static_cast<std::size_t>(bars), "Fm7 Bb7");
    return s;
}

}  // namespace

TEST_CASE("chart: a section's letter is typed by key where the play line stands") {
    Headless h;
    State s = made_state();
    s.play.at = s.draft.bars->bar_span(9).from + Seconds(0.1);
    h.frame(s);
    h.stroke(s, "shift+c");
    h.all.clear();
    type(h, s, "D");
    CHECK(those<intents::SetSection>(h.all) == std::vector<intents::SetSection>{{9, "D"}});
    // While it is typed, letters are letters: "d" is no slide.
    CHECK(those<intents::Turn>(h.all).empty());
    h.all.clear();
    h.stroke(s, "d");
    CHECK(those<intents::Turn>(h.all).size() == 1);
}

TEST_CASE("chart: a double press in the margin names the section of that line") {
    Headless h;
    State s = made_state();
    h.frame(s);
    const Box chart = lay_out(1280, 720, 1, true).chart;
    // The third of eight lines.
    const float y = chart.y0 + 28 + (chart.h() - 32) * 2.5F / 8.0F, x = chart.x0 + 24;
    h.mouse(x, y, false);
    h.frame(s);
    for (const bool down : {true, false, true, false}) {
        h.mouse(x, y, down);
        h.frame(s);
    }
    h.all.clear();
    type(h, s, "E");
    CHECK(those<intents::SetSection>(h.all) == std::vector<intents::SetSection>{{9, "E"}});
}

TEST_CASE("chart: 12 to 128 bars and several choruses fit, and playing keeps its line in view") {
    for (const int bars : {12, 32, 64, 96, 128}) {
        Headless h;
        State s = long_state(bars);
        s.look = {Seconds(1), Seconds(9)};
        h.frame(s);
        h.frame(s);
        CHECK_MESSAGE(h.scratch.shortened.empty(), bars);
        s.play.playing = true;
        const Box chart = lay_out(1280, 720, 1, true).chart;
        const Colour accent = palette(Paper::light).here;
        const std::array<std::uint8_t, 3> here{static_cast<std::uint8_t>(accent & 0xFF),
                                               static_cast<std::uint8_t>((accent >> 8) & 0xFF),
                                               static_cast<std::uint8_t>((accent >> 16) & 0xFF)};
        for (int bar = 1; bar <= bars; bar += 3) {
            s.play.at = s.draft.bars->bar_span(bar).from + Seconds(1);
            h.frame(s);
            // The flag of the play line stands in the chart whichever bar is heard.
            const Image image = h.image(s);
            int seen = 0;
            for (int y = static_cast<int>(chart.y0); y < static_cast<int>(chart.y1); ++y) {
                for (int x = static_cast<int>(chart.x0); x < static_cast<int>(chart.x1); ++x)
                    seen += std::equal(here.begin(), here.end(), image.pixel(x, y)) ? 1 : 0;
            }
            CHECK_MESSAGE(seen > 20, bars, " bars, at ", bar);
            if (bars > 32) bar += 9;
        }
    }
}

TEST_CASE("chart: a drag over bars loops them far down a long form, too") {
    Headless h;
    State s = long_state(96);
    s.play.at = s.draft.bars->bar_span(90).from + Seconds(0.1);
    h.frame(s);
    h.frame(s);
    const Box chart = lay_out(1280, 720, 1, true).chart;
    // The lowest whole line holds bars 89 to 92, or, where it ends there, 93 to 96.
    const float y = chart.y1 - 40, w = (chart.w() - 18 - 36) / 4, x = chart.x0 + 42;
    const auto loops = those<intents::LoopBars>(h.drag(s, x + 0.5F * w, y, x + 2.5F * w, y));
    REQUIRE(loops.size() == 1);
    CHECK(loops[0].first % 4 == 1);
    CHECK(loops[0].first >= 85);
    CHECK(loops[0].last == loops[0].first + 2);
}
