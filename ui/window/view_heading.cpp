// The heading, the whole recording under it, and the margin note.
#include <algorithm>
#include <cmath>

#include "ui/window/page.h"
#include "ui/window/spelling.h"

namespace bentline::window {
namespace {

std::string sheet_name(const State& s) {
    if (!s.open) return "Bentline";
    std::string name = !s.draft.title.empty()  ? s.draft.title
                       : !s.draft_file.empty() ? s.draft_file.stem().string()
                       : s.heard.info          ? s.heard.info->path.stem().string()
                                               : "A solo";
    // A title that was a file's name reads as words.
    std::replace(name.begin(), name.end(), '_', ' ');
    if (!name.empty() && name[0] >= 'a' && name[0] <= 'z')
        name[0] = static_cast<char>(name[0] - 'a' + 'A');
    return name;
}

std::string under_name(const State& s) {
    if (!s.open) return "lifts solos off live recordings";
    std::string text = s.heard.info ? s.heard.info->path.filename().string() : "recording not here";
    if (s.heard.info) text += "  ·  " + time_text(s.heard.info->duration());
    if (std::abs(s.draft.tuning.value()) >= 0.5)
        text += "  ·  tuned " + signed_cents(s.draft.tuning);
    if (s.unsaved) text += "  ·  not saved yet";
    return text;
}

// What can be done next, in one sentence.
std::string hint(const Page& page) {
    const State& s = page.s;
    if (!s.open)
        return "Drop a recording or a draft onto the window, or press " + page.key_of("open") + ".";
    if (s.draft.notes.empty()) {
        return "No notes yet: drag over the bars above the grid to choose a loop, then press " +
               page.key_of("repencil") + " to have it pencilled.";
    }
    if (!s.pick && s.play.loop) {
        return page.key_of("play-stop") + " plays the loop, " + page.key_of("slower") +
               " slows it; " + page.key_of("next") + " takes its next dashed note, " +
               page.key_of("ink-loop") + " inks them all: let your ear decide.";
    }
    if (!s.pick) {
        return page.key_of("play-stop") + " plays, " + page.key_of("loop-bar") +
               " loops the bar, " + page.key_of("slower") + " slows it; " + page.key_of("next") +
               " takes the next dashed note, a pencilled proposal: let your ear decide.";
    }
    return page.key_of("ink-on") + " inks the note and goes on, " + page.key_of("discard") +
           " discards it, arrows change it, " + page.key_of("keys") + " shows every key.";
}

}  // namespace

void draw_heading(const Page& page) {
    const Kit& k = page.kit;
    const Box& b = page.l.heading;
    const std::string name = sheet_name(page.s);
    const float words_from = b.x1 - k.pt(560);
    const float name_width = std::min(k.size(k.f.title, name).x + 1, (words_from - b.x0) * 0.55F);
    k.text_in(k.f.title, {b.x0, b.y0, b.x0 + name_width, b.y1}, Align::left, k.c.ink, name);
    const float y = k.beside(k.f.title, b.mid_y() - k.f.title->FontSize / 2, k.f.small);
    k.text_in(k.f.small,
              {b.x0 + name_width + k.pt(14), y, words_from - k.pt(8), y + k.f.small->FontSize},
              Align::left, k.c.soft, under_name(page.s));

    struct Word {
        const char* id;
        const char* label;
        const char* command;
        Intent intent;
        float width;
        bool able;
    };
    const bool open = page.s.open;
    const Word words[] = {
        {"open", "Open", "open", intents::Choose{Purpose::open}, 100, true},
        {"save", "Save", "save", intents::Save{}, 100, open},
        {"hand", "Hand out", "hand-out", intents::Show{Overlay::hand_out}, 90, open},
        {"bars", "Bars", "bars", intents::Show{Overlay::bars}, 64, open},
        {"done", "Done so far", "history", intents::Show{Overlay::history}, 106, open},
        {"keys", "Keys", "keys", intents::Show{Overlay::keys}, 74, true},
    };
    float x = b.x1;
    for (const Word& w : words)
        x -= k.pt(w.width + 4);
    for (const Word& w : words) {
        const Box box{x, b.y0 + k.pt(5), x + k.pt(w.width), b.y1 - k.pt(5)};
        if (k.word(w.id, box, w.label, page.key_of(w.command), false, w.able)) page.ask(w.intent);
        x += k.pt(w.width + 4);
    }
}

void draw_overview(const Page& page) {
    const Kit& k = page.kit;
    const Box& b = page.l.overview;
    k.sheet(b);
    const Box in = b.inset(k.pt(2), k.pt(3));
    const State& s = page.s;
    if (!s.heard.info) {
        k.text_in(k.f.small, in, Align::centre, k.c.soft,
                  s.open ? "The recording of this draft is not here: open it to hear and measure."
                         : "Here the whole recording will lie.");
        return;
    }
    const double length = std::max(1e-3, s.heard.info->duration().value());
    const auto x_of = [&](Seconds t) {
        return in.x0 + static_cast<float>(std::clamp(t.value() / length, 0.0, 1.0)) * in.w();
    };
    const auto time_at = [&](float x) {
        return Seconds(std::clamp(static_cast<double>((x - in.x0) / in.w()), 0.0, 1.0) * length);
    };
    if (s.heard.overview) {
        const auto bins = static_cast<std::size_t>(in.w());
        const OverviewLevel& level =
            s.heard.overview->level_for({Frames(0), s.heard.overview->frames}, bins);
        const float mid = in.mid_y();
        for (int px = 0; px < static_cast<int>(in.w()); ++px) {
            const auto from = static_cast<std::size_t>(static_cast<double>(px) / in.w() *
                                                       static_cast<double>(level.bins()));
            const auto to =
                std::max(from + 1, static_cast<std::size_t>(static_cast<double>(px + 1) / in.w() *
                                                            static_cast<double>(level.bins())));
            float high = 0, rms = 0;
            for (const auto& channel : level.channels) {
                for (std::size_t i = from; i < std::min(to, channel.size()); ++i) {
                    high = std::max({high, channel[i].highest, -channel[i].lowest});
                    rms = std::max(rms, channel[i].rms);
                }
            }
            const float x = in.x0 + static_cast<float>(px);
            const float h = std::min(1.0F, high) * in.h() / 2, r = std::min(1.0F, rms) * in.h() / 2;
            k.fill({x, mid - h, x + 1, mid + h}, with_alpha(k.c.soft, 90));
            k.fill({x, mid - r, x + 1, mid + r}, with_alpha(k.c.ink, 190));
        }
    }
    // What the bench shows, then the loop, then the playhead.
    k.frame({x_of(s.look.from), b.y0 + k.pt(1),
             std::max(x_of(s.look.to), x_of(s.look.from) + k.pt(3)), b.y1 - k.pt(1)},
            k.c.soft);
    const Kit::Touch touch = k.area("overview", b);
    Drag& drag = page.scratch.drag;
    const Seconds here = time_at(ImGui::GetIO().MousePos.x);
    if (touch.pressed) drag = {Grip::loop, here, here, 0, 0, {}, 1};
    if (drag.grip == Grip::loop && drag.owner == 1) {
        drag.now = here;
        const float from = std::min(x_of(drag.from), x_of(drag.now)),
                    to = std::max(x_of(drag.from), x_of(drag.now));
        const bool far = to - from > k.pt(4);
        if (far) k.bracket(from, to, b.y0 + k.pt(1), b.h() - k.pt(2), k.c.span);
        if (touch.released) {
            if (far) {
                page.ask(intents::LoopOver{std::min(drag.from, here), std::max(drag.from, here)});
                page.ask(intents::GoTo{std::min(drag.from, here)});
            } else {
                page.ask(intents::GoTo{here});
            }
            drag = Drag{};
        }
    } else if (s.play.loop) {
        k.bracket(x_of(s.play.loop->from),
                  std::max(x_of(s.play.loop->to), x_of(s.play.loop->from) + k.pt(5)),
                  b.y0 + k.pt(1), b.h() - k.pt(2), k.c.span);
    }
    const float x = x_of(s.play.at);
    k.line(x, b.y0, x, b.y1, k.c.here, 1.5F);
    k.flag(x, b.y0, k.c.here);
}

void draw_margin(const Page& page) {
    const Kit& k = page.kit;
    const Box b = page.l.margin;
    if (page.s.notice) {
        const Colour colour = page.s.notice->failed ? k.c.here : k.c.span;
        k.fill({b.x0, b.mid_y() - k.pt(7), b.x0 + k.pt(4), b.mid_y() + k.pt(7)}, colour);
        const std::string sentence = (page.s.notice->failed ? "Not done: " : "") +
                                     sentence_with_signs(page.s.notice->sentence) + ".";
        k.text_in(k.f.text, {b.x0 + k.pt(12), b.y0, b.x1 - k.pt(110), b.y1}, Align::left,
                  page.s.notice->failed ? k.c.here : k.c.ink, sentence);
        if (k.word("dismiss", {b.x1 - k.pt(104), b.y0 + k.pt(2), b.x1, b.y1 - k.pt(2)}, "Seen",
                   "Esc")) {
            page.ask(intents::Dismiss{});
        }
        return;
    }
    if (!page.s.work.empty()) {
        const WorkSeen& work = page.s.work.front();
        const float words = k.size(k.f.text, work.words).x;
        k.text_in(k.f.text, {b.x0, b.y0, b.x0 + words + 1, b.y1}, Align::left, k.c.ink, work.words);
        const Box bar{b.x0 + words + k.pt(14), b.mid_y() - k.pt(4), b.x0 + words + k.pt(234),
                      b.mid_y() + k.pt(4)};
        k.frame(bar, k.c.soft);
        k.fill({bar.x0 + k.pt(2), bar.y0 + k.pt(2),
                bar.x0 + k.pt(2) +
                    static_cast<float>(std::clamp(work.share, 0.0, 1.0)) * (bar.w() - k.pt(4)),
                bar.y1 - k.pt(2)},
               k.c.span);
        k.text_in(k.f.text, {bar.x1 + k.pt(10), b.y0, bar.x1 + k.pt(60), b.y1}, Align::left,
                  k.c.ink, std::to_string(static_cast<int>(work.share * 100)) + " %");
        if (k.word("stop-work",
                   {bar.x1 + k.pt(64), b.y0 + k.pt(2), bar.x1 + k.pt(190), b.y1 - k.pt(2)}, "Stop",
                   page.key_of("stop-work"))) {
            page.ask(intents::StopWork{});
        }
        return;
    }
    k.text_in(k.f.text, b, Align::left, k.c.soft, hint(page));
}

}  // namespace bentline::window
