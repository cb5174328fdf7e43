// Where on the stage: a strip from left to right, shaded by how much sound comes from each place.
#include <algorithm>
#include <cmath>

#include "ui/window/page.h"

namespace bentline::window {

void draw_stage(const Page& page) {
    const Kit& k = page.kit;
    const State& s = page.s;
    const Box& b = page.l.stage;
    const Box strip{b.x0 + k.pt(92), b.y0 + k.pt(3), b.x1 - k.pt(38), b.y1 - k.pt(3)};
    k.text_in(k.f.small, {b.x0, b.y0, strip.x0 - k.pt(6), b.y1}, Align::right, k.c.soft,
              "On stage: left");
    k.text_in(k.f.small, {strip.x1 + k.pt(4), b.y0, b.x1, b.y1}, Align::right, k.c.soft, "right");
    k.fill(strip, k.c.paper);
    if (s.heard.stage && !s.heard.stage->share.empty()) {
        const auto& share = s.heard.stage->share;
        const float w = strip.w() / static_cast<float>(share.size());
        for (std::size_t i = 0; i < share.size(); ++i) {
            const float x = strip.x0 + static_cast<float>(i) * w;
            const auto alpha = static_cast<unsigned>(150.0F * std::clamp(share[i], 0.0F, 1.0F));
            k.fill({x, strip.y0, x + w, strip.y1}, with_alpha(k.c.ink, alpha));
        }
    }
    k.frame(strip, k.c.soft);
    k.line(strip.mid_x(), strip.y1 - k.pt(4), strip.mid_x(), strip.y1, k.c.soft, 1);

    Drag& drag = page.scratch.drag;
    double place = s.draft.focus.place, width = s.draft.focus.width;
    const double mouse = std::clamp(
        static_cast<double>((ImGui::GetIO().MousePos.x - strip.x0) / strip.w()) * 2.0 - 1.0, -1.0,
        1.0);
    if (drag.grip == Grip::stage_place) place = std::clamp(mouse - drag.value_from, -1.0, 1.0);
    if (drag.grip == Grip::stage_width)
        width = std::clamp(2.0 * std::abs(mouse - place), 0.05, 2.0);
    const auto x_of = [&](double p) {
        return strip.x0 + static_cast<float>((std::clamp(p, -1.0, 1.0) + 1.0) / 2.0) * strip.w();
    };
    const float x0 = x_of(width >= 2.0 ? -1.0 : place - width / 2),
                x1 = x_of(width >= 2.0 ? 1.0 : place + width / 2);
    k.fill({strip.x0, strip.y0, x0, strip.y1}, with_alpha(k.c.paper, 170));
    k.fill({x1, strip.y0, strip.x1, strip.y1}, with_alpha(k.c.paper, 170));
    const auto handle = [&](const char* id, float x) {
        const Kit::Touch touch = k.area(id, {x - k.pt(7), b.y0, x + k.pt(7), b.y1});
        if (touch.pressed) drag = {Grip::stage_width, {}, {}, 0, 0, {}, 0};
        const Colour colour = touch.hovered || touch.held ? k.c.here : k.c.span;
        k.fill({x - k.pt(1.5F), b.y0 + k.pt(1), x + k.pt(1.5F), b.y1 - k.pt(1)}, colour);
        return touch.released && drag.grip == Grip::stage_width;
    };
    const bool left_done = handle("stage-left", x0), right_done = handle("stage-right", x1);
    const Kit::Touch middle = k.area("stage-place", {x0 + k.pt(7), b.y0, x1 - k.pt(7), b.y1});
    if (middle.pressed) drag = {Grip::stage_place, {}, {}, 0, mouse - place, {}, 0};
    if (middle.twice) {
        page.ask(intents::SetStage{0, 2});
        drag = Drag{};
    } else if (left_done || right_done || (middle.released && drag.grip == Grip::stage_place)) {
        if (place != s.draft.focus.place || width != s.draft.focus.width) {
            page.ask(intents::SetStage{place, width});
        }
        drag = Drag{};
    }
}

}  // namespace bentline::window
