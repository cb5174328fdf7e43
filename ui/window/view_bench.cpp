// The bench: the bars under work, large. Rows, counting, and the pitch line in ink.
#include <algorithm>
#include <array>
#include <cmath>

#include "ui/window/page.h"
#include "ui/window/spelling.h"

namespace bentline::window {
namespace {

// Keys of the open strings, standard tuning, first string first (common practice, no source).
constexpr std::array open_strings{64, 59, 55, 50, 45, 40};

// The string (1 first) on which a key lies within a hand's reach of a position, and its fret: four
// frets, one finger each (common practice, no source).
std::optional<std::pair<int, int>> on_neck(int key, int position) {
    for (std::size_t i = 0; i < open_strings.size(); ++i) {
        const int fret = key - open_strings[i];
        if (fret >= position && fret < position + 4)
            return std::pair(static_cast<int>(i) + 1, fret);
    }
    return std::nullopt;
}

bool black_key(int key) {
    const int pc = ((key % 12) + 12) % 12;
    return pc == 1 || pc == 3 || pc == 6 || pc == 8 || pc == 10;
}

std::optional<ChordTones> chord_at(const State& s, Seconds t) {
    if (!s.draft.bars) return std::nullopt;
    const int bar = s.draft.bars->position_at(t).bar;
    // A bar without a chord goes on with the one before.
    for (int b = std::min(bar, static_cast<int>(s.draft.chords.size())); b >= 1; --b) {
        const std::string& text = s.draft.chords[static_cast<std::size_t>(b - 1)];
        if (!text.empty()) return chord_tones(text);
    }
    return std::nullopt;
}

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

void register_bracket(const Page& page, const Axes& axes) {
    const Kit& k = page.kit;
    const State& s = page.s;
    Drag& drag = page.scratch.drag;
    const auto y_of = [&](double key, float half) {
        const float y = axes.y(Pitch(key)) + half * axes.row_height();
        return std::clamp(y, axes.box.y0, axes.box.y1);
    };
    double low = s.draft.focus.lowest.value(), high = s.draft.focus.highest.value();
    const double under = std::round(axes.pitch(ImGui::GetIO().MousePos.y).value());
    if (drag.grip == Grip::register_low) low = std::min(under, high - 1);
    if (drag.grip == Grip::register_high) high = std::max(under, low + 1);
    const float x = page.l.names.x0 + k.pt(10);
    const float y0 = y_of(high, -0.5F), y1 = y_of(low, 0.5F);
    const auto end = [&](const char* id, float y, double key, Grip grip, bool outside) {
        const Kit::Touch touch = k.area(id, {x - k.pt(8), y - k.pt(6), x + k.pt(12), y + k.pt(6)});
        if (touch.pressed) drag = {grip, {}, {}, key, key, {}, 0};
        if (drag.grip == grip && touch.released) {
            page.ask(intents::SetRegister{static_cast<int>(low), static_cast<int>(high)});
            drag = Drag{};
        }
        const Colour colour = touch.hovered || touch.held ? k.c.here : k.c.span;
        if (!outside) k.fill({x, y - k.pt(1.5F), x + k.pt(8), y + k.pt(1.5F)}, colour);
    };
    k.fill({x, y0, x + k.pt(2.5F), y1}, k.c.span);
    end("register-high", y0, high, Grip::register_high, high >= s.rows.to);
    end("register-low", y1, low, Grip::register_low, low < s.rows.from);
    const float arrow = k.pt(5);
    if (high >= s.rows.to) {
        k.list().AddTriangleFilled(at(x + k.pt(1.25F), y0),
                                   at(x + k.pt(1.25F) + arrow, y0 + arrow * 1.4F),
                                   at(x + k.pt(1.25F) - arrow, y0 + arrow * 1.4F), k.c.span);
    }
    if (low < s.rows.from) {
        k.list().AddTriangleFilled(at(x + k.pt(1.25F), y1),
                                   at(x + k.pt(1.25F) - arrow, y1 - arrow * 1.4F),
                                   at(x + k.pt(1.25F) + arrow, y1 - arrow * 1.4F), k.c.span);
    }
    if (drag.grip == Grip::register_low || drag.grip == Grip::register_high) {
        const auto outside = [&](float from, float to) {
            if (to > from) k.fill({axes.box.x0, from, axes.box.x1, to}, with_alpha(k.c.ink, 26));
        };
        outside(axes.box.y0, y0);
        outside(y1, axes.box.y1);
    }
}

}  // namespace

void draw_rows(const Page& page, const Axes& axes) {
    const Kit& k = page.kit;
    const State& s = page.s;
    const float h = axes.row_height();
    const Seconds now = s.pick && s.picked() ? s.picked()->note.onset : s.play.at;
    const auto chord = chord_at(s, now);
    const std::optional<Key> in = s.draft.key_at(now);
    float last_label = axes.box.y1 + h;
    const Box column{page.l.names.x0 + k.pt(24), page.l.names.y0, page.l.names.x1, page.l.names.y1};
    const Kit::Touch names = k.area("names", column);
    if (const float wheel = ImGui::GetIO().MouseWheel; names.hovered && wheel != 0.0F) {
        const int by = wheel > 0 ? 2 : -2;
        page.ask(intents::ShowRows{s.rows.from + by, s.rows.to + by});
    }
    for (int key = s.rows.from; key < s.rows.to; ++key) {
        const float mid = axes.y(Pitch(static_cast<double>(key)));
        const Box row{axes.box.x0, mid - h / 2, axes.box.x1, mid + h / 2};
        if (black_key(key)) k.fill(row, k.c.shade);
        const bool tonic = in && ((key % 12) + 12) % 12 == in->tonic();
        k.line(row.x0, row.y1, row.x1, row.y1, tonic ? k.c.soft : with_alpha(k.c.rule, 120), 1);
        // Small rows: only as many names as have room, so that none runs into its neighbour.
        if (last_label - mid < k.pt(11.5F)) continue;
        last_label = mid;
        ImFont* small = k.f.small;
        const Box name{page.l.names.x0 + k.pt(24), mid - k.pt(8), page.l.names.x0 + k.pt(54),
                       mid + k.pt(8)};
        const char* degree = chord ? chord->degree_of(MidiKey(key)) : nullptr;
        k.text_in(small, name, Align::left, degree != nullptr ? k.c.ink : k.c.soft,
                  spelled_with_octave(MidiKey(key), in));
        if (degree != nullptr) {
            const Box mark{page.l.names.x1 - k.pt(25), mid - k.pt(7), page.l.names.x1 - k.pt(1),
                           mid + k.pt(7)};
            k.fill({axes.box.x0, mid - h / 2, axes.box.x1, mid + h / 2}, with_alpha(k.c.span, 14));
            k.text_in(small, mark, Align::centre, k.c.span, degree);
        }
        if (const auto neck = on_neck(key, s.position)) {
            const float x = page.l.names.x0 + k.pt(62);
            // The fret on its string: six hairs would be too fine, so the string's number is
            // raised.
            k.text_in(small, {x - k.pt(5), mid - k.pt(8), x + k.pt(16), mid + k.pt(8)}, Align::left,
                      k.c.soft, std::to_string(neck->first) + "·" + std::to_string(neck->second));
        }
    }
    register_bracket(page, axes);
}

void draw_counting(const Page& page, const Axes& axes) {
    const Kit& k = page.kit;
    const State& s = page.s;
    const Box& b = page.l.counting;
    k.line(b.x0, b.y1, b.x1, b.y1, k.c.soft, 1);
    if (s.draft.bars) {
        const Beats first = s.draft.bars->beats_at(s.look.from);
        const float beat_width =
            axes.pixels_a_second() *
            static_cast<float>(beat_length(s.draft.bars->tempo_at(first)).value());
        const bool beats = beat_width > k.pt(9);
        const float bar_width =
            beat_width * static_cast<float>(s.draft.bars->metre().beats_per_bar());
        int last_bar = -1000000;
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
                k.text(k.f.strong, x + k.pt(4), b.y1 - k.pt(20), k.c.ink, number);
                const auto index = static_cast<std::size_t>(place.bar - 1);
                if (place.bar >= 1 && index < s.draft.chords.size()) {
                    // Its chords beside the number, where beats leave them room.
                    const std::string chords = with_signs(s.draft.chords[index]);
                    const float from = x + k.pt(9) + k.size(k.f.strong, number).x;
                    const float wide = k.size(k.f.small, chords).x;
                    if (wide < x + beat_width - from - k.pt(4) && from + wide < b.x1)
                        k.text(k.f.small, from, b.y1 - k.pt(19), k.c.ink, chords);
                }
            } else if (beat_width > k.pt(34)) {
                k.text(k.f.small, x + k.pt(3), b.y1 - k.pt(17), k.c.soft,
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
            const std::string label = time_text(Seconds(t));
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
    draw_notes(page, axes);
    draw_line(page, axes);
    const Range<std::size_t> seen = s.draft.notes.within({s.look.from - Seconds(6), s.look.to});
    // Signs need room: below it they would only be a smear.
    if (axes.pixels_a_second() > k.pt(34)) {
        for (std::size_t i = seen.from; i < seen.to; ++i)
            draw_signs(page, axes, s.draft.notes[i]);
    }
    if (s.measured && s.measured->first) {
        const Measured& m = *s.measured;
        const float x0 = axes.x(m.span.from), x1 = axes.x(m.span.to);
        k.fill({x0, axes.box.y0, x1, axes.box.y1}, with_alpha(k.c.here, 22));
        k.dashed(x0, axes.box.y0, x0, axes.box.y1, k.c.here, 1.2F);
        k.dashed(x1, axes.box.y0, x1, axes.box.y1, k.c.here, 1.2F);
    }
    const float x = axes.x(s.play.at);
    if (x >= axes.box.x0 && x <= axes.box.x1)
        k.line(x, axes.box.y0, x, axes.box.y1, k.c.here, 1.6F);
    k.list().PopClipRect();
    if (x >= axes.box.x0 && x <= axes.box.x1) {
        k.line(x, page.l.counting.y1 - k.pt(9), x, page.l.counting.y1, k.c.here, 1.6F);
        k.flag(x, page.l.counting.y1 - k.pt(9), k.c.here);
    }
    if (!s.open) {
        const Box b{axes.box.x0 + k.pt(60), axes.box.mid_y() - k.pt(40), axes.box.x1 - k.pt(60),
                    axes.box.y1};
        k.sheet({b.mid_x() - k.pt(250), b.y0 - k.pt(24), b.mid_x() + k.pt(250), b.y0 + k.pt(128)});
        k.text_in(k.f.title, {b.x0, b.y0, b.x1, b.y0 + k.pt(30)}, Align::centre, k.c.ink,
                  "Drop a recording here, or press " + page.key_of("open"));
        k.text_in(k.f.text, {b.x0, b.y0 + k.pt(34), b.x1, b.y0 + k.pt(56)}, Align::centre, k.c.soft,
                  "WAV, AIFF, FLAC, OGG, Opus, MP3, or a draft that you saved");
        const float mid = b.mid_x();
        if (k.word("demo", {mid - k.pt(150), b.y0 + k.pt(72), mid + k.pt(150), b.y0 + k.pt(104)},
                   "Try it with the demo recording", page.key_of("demo"), true)) {
            page.ask(intents::OpenDemo{});
        }
    }
    k.list().PopClipRect();
}

}  // namespace bentline::window
