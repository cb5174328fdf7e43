// Playing: play and stop, where, how fast, tuned how, how loud.
#include <cmath>

#include "ui/window/page.h"
#include "ui/window/printed.h"

namespace bentline::window {
namespace {

std::string loop_words(const State& s) {
    if (!s.play.loop) return "no loop";
    if (s.draft.bars) {
        const int first = s.draft.bars->position_at(s.play.loop->from + Seconds(0.02)).bar;
        const int last = s.draft.bars->position_at(s.play.loop->to - Seconds(0.02)).bar;
        return first == last
                   ? "loop: bar " + std::to_string(first)
                   : "loop: bars " + std::to_string(first) + " to " + std::to_string(last);
    }
    return printed("loop: %.2f s", (s.play.loop->to - s.play.loop->from).value());
}

}  // namespace

void draw_transport(const Page& page) {
    const Kit& k = page.kit;
    const State& s = page.s;
    const Box& b = page.l.transport;
    k.sheet(b);
    const bool able = s.heard.info.has_value();
    const Box button{b.x0 + k.pt(14), b.y0 + k.pt(13), b.x0 + k.pt(54), b.y1 - k.pt(13)};
    const Kit::Touch touch = able ? k.area("play", button) : Kit::Touch{};
    const Colour ink = !able ? k.c.soft : touch.hovered ? k.c.here : k.c.ink;
    k.frame(button, ink, 1.6F);
    k.play_sign({button.x0 + k.pt(13), button.mid_y() - k.pt(8), button.x0 + k.pt(28),
                 button.mid_y() + k.pt(8)},
                s.play.playing, ink);
    if (touch.clicked) page.ask(intents::PlayStop{});

    const float x = button.x1 + k.pt(16);
    k.text(k.f.title, x, b.y0 + k.pt(5), k.c.ink,
           s.draft.bars ? place_text(s, s.play.at) : time_text(s.play.at));
    const std::string under = (s.draft.bars ? time_text(s.play.at) + "   " : "") + loop_words(s);
    k.text_in(k.f.small, {x, b.y0 + k.pt(36), x + k.pt(190), b.y0 + k.pt(56)}, Align::left,
              k.c.soft, under);

    const float from = x + k.pt(196), to = b.x1 - k.pt(14);
    const float gap = k.pt(20), last = k.pt(132), w = (to - from - last - 4 * gap) / 4;
    const auto place = [&](int i) {
        const float x0 = from + static_cast<float>(i) * (w + gap);
        return Box{x0, b.y0 + k.pt(8), x0 + w, b.y1 - k.pt(4)};
    };
    const Ruler speed{
        "Speed", printed("%.0f %%", s.play.speed * 100), s.play.speed, 0.1, 2.0, 1.0, true, 19};
    if (const auto v = k.ruler("speed", place(0), speed))
        page.ask(intents::SetSpeed{std::round(*v * 100) / 100});
    const Ruler tuning{
        "Tuning", signed_cents(s.play.retune), s.play.retune.value(), -100, 100, 0, false, 20};
    if (const auto v = k.ruler("tuning", place(1), tuning))
        page.ask(intents::SetRetune{Cents(std::round(*v))});
    const double share = s.play.balance;
    const std::string heard = share <= 0.01   ? "recording"
                              : share >= 0.99 ? "draft"
                              : std::abs(share - 0.5) < 0.01
                                  ? "both"
                                  : (share < 0.5 ? "draft softer" : "recording softer");
    const Ruler balance{"Heard", heard, share, 0, 1, 0, false, 4};
    if (const auto v = k.ruler("balance", place(2), balance))
        page.ask(intents::SetBalance{std::round(*v * 20) / 20});
    const Ruler level{"Level",
                      signed_figure(s.play.level.value()) + " dB",
                      s.play.level.value(),
                      -60,
                      0,
                      -18,
                      false,
                      12};
    if (const auto v = k.ruler("level", place(3), level))
        page.ask(intents::SetLevel{Decibels(std::round(*v))});

    const Box words{to - last, b.y0 + k.pt(6), to, b.y1 - k.pt(6)};
    const Box upper{words.x0, words.y0, words.x1, words.mid_y()},
        lower{words.x0, words.mid_y(), words.x1, words.y1};
    if (k.word("focus-only", upper, s.play.focus_only ? "Focus only" : "Whole band",
               page.key_of("focus-only"), s.play.focus_only, able)) {
        page.ask(intents::HearFocus{!s.play.focus_only});
    }
    if (!s.play.trouble.empty()) {
        k.text_in(k.f.small, lower, Align::centre, k.c.here, s.play.trouble);
    } else {
        k.text_in(k.f.small, lower, Align::centre, k.c.soft,
                  s.play.level.value() > -10 ? "loud: mind your ears" : "level is limited");
    }
}

}  // namespace bentline::window
