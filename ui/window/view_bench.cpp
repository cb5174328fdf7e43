// The bench: the bars under work, large. Counting above the grid, and what lies on it.
#include <algorithm>
#include <cmath>

#include "ui/window/page.h"
#include "ui/window/spelling.h"

namespace bentline::window {
namespace {

// A beat line can be taken by its foot and moved, while nothing plays.
void hold_beat(const Page& page, const Axes& axes, int beat, float beat_width) {
    const Kit& k = page.kit;
    const State& s = page.s;
    if (s.play.playing || beat_width < k.pt(26)) return;
    Drag& drag = page.scratch.drag;
    const Box& b = page.l.counting;
    const float x = axes.x(s.draft.bars->time_of(Beats(beat)));
    const std::string id = "beat-" + std::to_string(beat);
    const Kit::Touch touch = k.area(id.c_str(), {x - k.pt(4), b.y1 - k.pt(11), x + k.pt(5), b.y1});
    const Seconds here = axes.time(ImGui::GetIO().MousePos.x);
    if (touch.hovered || touch.held) {
        ImGui::SetMouseCursor(ImGuiMouseCursor_ResizeEW);
        k.fill({x - k.pt(1.5F), b.y1 - k.pt(10), x + k.pt(1.5F), b.y1}, k.c.span);
    }
    if (touch.pressed) drag = {Grip::beat, here, here, 0, static_cast<double>(beat), {}, 0};
    if (drag.grip != Grip::beat || static_cast<int>(drag.value_from) != beat) return;
    const float to = axes.x(here);
    k.dashed(to, b.y1 - k.pt(10), to, axes.box.y1, k.c.span, 1.4F);
    if (!touch.released) return;
    if (std::abs(to - axes.x(drag.from)) > k.pt(2)) page.ask(intents::DragBeat{beat, here});
    drag = Drag{};
}

// The measured stretch: from which pitch to which, and by how much.
void draw_measured(const Page& page, const Axes& axes, const Measured& m) {
    const Kit& k = page.kit;
    const float x0 = axes.x(m.span.from), x1 = axes.x(m.span.to);
    k.fill({x0, axes.box.y0, x1, axes.box.y1}, with_alpha(k.c.here, 22));
    k.dashed(x0, axes.box.y0, x0, axes.box.y1, k.c.here, 1.2F);
    k.dashed(x1, axes.box.y0, x1, axes.box.y1, k.c.here, 1.2F);
    if (!m.first || !m.last || !m.moved) return;
    const float from = axes.y(*m.first), to = axes.y(*m.last);
    k.dashed(x0, from, x1 + k.pt(10), from, k.c.here, 1.2F, 3);
    if (std::abs(to - from) > k.pt(8)) k.arrow(x1 + k.pt(8), from, x1 + k.pt(8), to, k.c.here);
    const std::string words = signed_cents(*m.moved);
    const float wide = k.size(k.f.strong, words).x;
    const float high =
        std::clamp(0.5F * (from + to) - k.pt(8), axes.box.y0, axes.box.y1 - k.pt(17));
    // Behind the end, and behind the query of a doubtful note that stands there.
    float behind = x1 + k.pt(16);
    for (const Box& query : page.scratch.queries) {
        const bool level = query.y0 < high + k.pt(17) && high < query.y1;
        if (level && query.x0 < behind + wide + k.pt(3) && behind < query.x1 + k.pt(3))
            behind = query.x1 + k.pt(5);
    }
    const bool right = behind + wide < axes.box.x1;
    k.text_over(k.f.strong, right ? behind : x0 - k.pt(8) - wide, high, k.c.here, words);
}

// What the player said while mending: an open wedge where a note is to be found, a small cross
// where a pencilled one was none.
void draw_said(const Page& page, const Axes& axes) {
    const Kit& k = page.kit;
    const State& s = page.s;
    const auto begins_near = [&](Seconds t) {
        return !s.draft.notes.within({t - here_tolerance, t + here_tolerance}).empty();
    };
    for (const NoteHere& mark : s.draft.here) {
        const float x = axes.x(mark.at), y = axes.box.y0 + k.pt(1);
        if (x < axes.box.x0 || x > axes.box.x1 || begins_near(mark.at)) continue;
        k.line(x, y + k.pt(9), x - k.pt(5), y, k.c.span, 1.6F);
        k.line(x, y + k.pt(9), x + k.pt(5), y, k.c.span, 1.6F);
        k.dashed(x, y + k.pt(10), x, axes.box.y1, with_alpha(k.c.span, 120), 1, 2);
    }
    for (const NotThis& none : s.draft.not_these) {
        const float x = axes.x(none.span.from) + k.pt(5), y = axes.y(Pitch(none.key));
        if (x < axes.box.x0 || x > axes.box.x1 || y < axes.box.y0 || y > axes.box.y1) continue;
        const float r = std::min(k.pt(3), 0.4F * axes.row_height());
        k.line(x - r, y - r, x + r, y + r, with_alpha(k.c.soft, 170), 1.1F);
        k.line(x - r, y + r, x + r, y - r, with_alpha(k.c.soft, 170), 1.1F);
    }
}

}  // namespace

void draw_counting(const Page& page, const Axes& axes) {
    const Kit& k = page.kit;
    const State& s = page.s;
    const Box& b = page.l.counting;
    k.line(b.x0, b.y1, b.x1, b.y1, k.c.soft, 1);
    const float figures_y = k.beside(k.f.strong, b.y1 - k.pt(20), k.f.small);
    if (s.draft.bars) {
        const Beats first = s.draft.bars->beats_at(s.look.from);
        const float beat_width =
            axes.pixels_a_second() *
            static_cast<float>(beat_length(s.draft.bars->tempo_at(first)).value());
        const bool beats = beat_width > k.pt(9);
        const float bar_width =
            beat_width * static_cast<float>(s.draft.bars->metre().beats_per_bar());
        int last_bar = -1000000;
        float chords_end = -1e9F;
        const double end = s.draft.bars->beats_at(s.look.to).value();
        for (double beat = std::ceil(first.value()); beat <= end; beat += 1.0) {
            const BarBeat place = s.draft.bars->position_of(Beats(beat));
            const bool down = place.beat.value() < 0.5;
            if (!down && !beats) continue;
            const float x = axes.x(s.draft.bars->time_of(Beats(beat)));
            // Far away only every fourth bar line is strong: a fence of them would hide the notes.
            const bool strong = down && (bar_width > k.pt(70) || place.bar % 4 == 1);
            k.line(x, axes.box.y0, x, axes.box.y1,
                   strong ? k.c.soft : with_alpha(k.c.rule, down ? 220 : 190), strong ? 1.2F : 1);
            k.line(x, b.y1 - k.pt(down ? 8.0F : 4.0F), x, b.y1, k.c.soft, 1);
            hold_beat(page, axes, static_cast<int>(beat), beat_width);
            if (down && place.bar != last_bar &&
                (beat_width *
                         static_cast<float>(s.draft.bars->metre_at(place.bar).beats_per_bar()) >
                     k.pt(30) ||
                 place.bar % 4 == 1)) {
                last_bar = place.bar;
                const std::string number = std::to_string(place.bar);
                if (x + k.pt(4) + k.size(k.f.strong, number).x > b.x1) continue;
                k.text(k.f.strong, x + k.pt(4), b.y1 - k.pt(20), k.c.ink, number);
                const auto index = static_cast<std::size_t>(place.bar - 1);
                if (place.bar >= 1 && index < s.draft.chords.size()) {
                    // Its chords beside the number; they tell more than the figures of its beats.
                    const std::string chords = with_signs(s.draft.chords[index]);
                    const float from = x + k.pt(9) + k.size(k.f.strong, number).x;
                    const float wide = k.size(k.f.small, chords).x;
                    if (wide < x + bar_width - from - k.pt(8) && from + wide < b.x1) {
                        k.text(k.f.small, from, figures_y, k.c.ink, chords);
                        chords_end = from + wide + k.pt(4);
                    }
                }
            } else if (beat_width > k.pt(34) && x + k.pt(3) > chords_end) {
                k.text(k.f.small, x + k.pt(3), figures_y, k.c.soft,
                       std::to_string(static_cast<int>(std::lround(place.beat.value())) + 1));
            }
        }
    } else {
        const double length = (s.look.to - s.look.from).value();
        double step = 0.1;
        for (const double wider : {0.5, 1.0, 2.0, 5.0, 10.0, 30.0, 60.0}) {
            if (axes.pixels_a_second() * static_cast<float>(step) < k.pt(64)) step = wider;
        }
        for (double t = std::ceil(s.look.from.value() / step) * step;
             t < s.look.from.value() + length; t += step) {
            const float x = axes.x(Seconds(t));
            k.line(x, axes.box.y0, x, axes.box.y1, with_alpha(k.c.rule, 150), 1);
            k.line(x, b.y1 - k.pt(6), x, b.y1, k.c.soft, 1);
            std::string label = time_text(Seconds(t));
            if (step >= 1.0) label.resize(label.size() - 3);  // whole seconds
            if (x + k.pt(4) + k.size(k.f.small, label).x < b.x1) {
                k.text(k.f.small, x + k.pt(4), b.y1 - k.pt(17), k.c.soft, label);
            }
        }
    }
    // The loop, and the making of a new one.
    Drag& drag = page.scratch.drag;
    const auto clipped = [&](Seconds t) { return std::clamp(axes.x(t), b.x0, b.x1); };
    std::optional<SecondsRange> loop = s.play.loop;
    const Seconds here = axes.time(ImGui::GetIO().MousePos.x);
    const bool in_view = loop && loop->from < s.look.to && s.look.from < loop->to;
    Kit::Touch from_touch, to_touch;
    if (in_view) {
        from_touch = k.area(
            "loop-from", {axes.x(loop->from) - k.pt(4), b.y0, axes.x(loop->from) + k.pt(5), b.y1});
        to_touch =
            k.area("loop-to", {axes.x(loop->to) - k.pt(5), b.y0, axes.x(loop->to) + k.pt(4), b.y1});
        if (from_touch.pressed) drag = {Grip::loop_from, loop->to, here, 0, 0, {}, 3};
        if (to_touch.pressed) drag = {Grip::loop_to, loop->from, here, 0, 0, {}, 3};
    }
    const Kit::Touch touch = k.area("counting", b);
    if (touch.pressed) drag = {Grip::loop, here, here, 0, 0, {}, 3};
    const bool making =
        drag.owner == 3 &&
        (drag.grip == Grip::loop || drag.grip == Grip::loop_from || drag.grip == Grip::loop_to);
    if (making) {
        drag.now = here;
        loop = SecondsRange{std::min(drag.from, here), std::max(drag.from, here)};
        if (touch.released || from_touch.released || to_touch.released) {
            if (axes.pixels_a_second() * static_cast<float>((loop->to - loop->from).value()) >
                k.pt(4)) {
                page.ask(intents::LoopOver{loop->from, loop->to});
            } else {
                page.ask(intents::GoTo{here});
            }
            drag = Drag{};
        }
    }
    if (loop && loop->from < s.look.to && s.look.from < loop->to) {
        k.bracket(clipped(loop->from), clipped(loop->to), b.y0 + k.pt(1), b.h() - k.pt(2),
                  k.c.span);
        const Colour veil = with_alpha(k.c.ink, 15);
        if (loop->from > s.look.from)
            k.fill({axes.box.x0, axes.box.y0, clipped(loop->from), axes.box.y1}, veil);
        if (loop->to < s.look.to)
            k.fill({clipped(loop->to), axes.box.y0, axes.box.x1, axes.box.y1}, veil);
    }
}

void draw_bench(const Page& page) {
    const Kit& k = page.kit;
    const State& s = page.s;
    k.sheet(page.l.bench);
    const Axes axes{page.l.grid, s.look, s.rows};
    k.list().PushClipRect(at(page.l.bench.x0, page.l.bench.y0),
                          at(page.l.bench.x1, page.l.grid.y1 + k.pt(2)), true);
    draw_rows(page, axes);
    k.list().PushClipRect(at(axes.box.x0, axes.box.y0), at(axes.box.x1, axes.box.y1), true);
    draw_spectrum(page, axes);
    k.list().PopClipRect();
    draw_counting(page, axes);
    k.list().PushClipRect(at(axes.box.x0, axes.box.y0), at(axes.box.x1, axes.box.y1), true);
    if (s.open) hold_grid(page, axes);
    draw_said(page, axes);
    draw_notes(page, axes);
    draw_line(page, axes);
    draw_signs(page, axes);
    draw_key_names(page, axes);
    if (s.measured) draw_measured(page, axes, *s.measured);
    const float x = axes.x(s.play.at);
    if (x >= axes.box.x0 && x <= axes.box.x1)
        k.line(x, axes.box.y0, x, axes.box.y1, k.c.here, 1.6F);
    k.list().PopClipRect();
    if (x >= axes.box.x0 && x <= axes.box.x1) {
        // The flag flies over the figures of bars and beats.
        const float top = page.l.counting.y0 + k.pt(2);
        k.line(x, top, x, page.l.counting.y1, k.c.here, 1.6F);
        k.flag(x, top, k.c.here);
    }
    if (!s.open) draw_welcome(page);
    k.list().PopClipRect();
}

}  // namespace bentline::window
