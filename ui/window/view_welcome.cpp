// What stands on the empty sheets: what to do first.
#include <algorithm>
#include <filesystem>
#include <string>

#include "ui/window/page.h"

namespace bentline::window {

void draw_welcome(const Page& page) {
    const Kit& k = page.kit;
    const Box b{page.l.grid.x0 + k.pt(60), page.l.grid.mid_y() - k.pt(40),
                page.l.grid.x1 - k.pt(60), page.l.grid.y1};
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

// What to do while there are no bars.
void draw_without_bars(const Page& page, const Box& b) {
    const Kit& k = page.kit;
    const Box text{b.x0 + k.pt(24), b.y0 + k.pt(56), b.x1 - k.pt(24), b.y1};
    k.text(k.f.title, text.x0, b.y0 + k.pt(18), k.c.ink, "Chart");
    float y = text.y0;
    const auto say = [&](const std::string& sentence) {
        y = k.paragraph(k.f.text, {text.x0, y, text.x1, text.y1}, k.c.soft, sentence) + k.pt(8);
    };
    if (!page.s.open) {
        say("A recording becomes a lead sheet here: bars, chords and, in every bar, the line of "
            "the solo.");
        say("The sound starts quiet, to spare your ears. Turn it up slowly, and take a rest now "
            "and then.");
        say("A solo and a recording have owners: check the rights before you hand out copies.");
        if (page.s.remembered.recent.empty()) return;
        y += k.pt(10);
        k.text(k.f.strong, text.x0, y, k.c.span, "Where you were");
        y += k.pt(26);
        for (std::size_t i = 0; i < std::min<std::size_t>(6, page.s.remembered.recent.size());
             ++i) {
            const std::filesystem::path file = page.s.remembered.recent[i];
            std::string name = file.filename().string();
            const Box line{text.x0, y, text.x1, y + k.pt(26)};
            const Kit::Touch touch = k.area(("recent-" + std::to_string(i)).c_str(), line);
            if (touch.hovered) k.fill(line, k.c.shade);
            k.text_in(k.f.text, {line.x0 + k.pt(4), line.y0, line.x1 - k.pt(20), line.y1},
                      Align::left, k.c.ink, name);
            const float key_y =
                k.beside(k.f.text, line.mid_y() - k.f.text->FontSize / 2, k.f.small);
            k.text(k.f.small, line.x1 - k.pt(12), key_y, k.c.soft, std::to_string(i + 1));
            if (touch.clicked) page.ask(intents::Open{file.string()});
            y += k.pt(27);
        }
        return;
    }
    say("There are no bars yet. Three ways to place them:");
    say("1.  Play, and press " + page.key_of("tap") + " on every beat for two bars or more.");
    say("2.  Stop on the first beat of bar 1 and press " + page.key_of("bar-one") + ".");
    say("3.  Press " + page.key_of("bars") + " and write tempo, metre, key and form.");
    say("The notes stay where they are: bars only count them.");
}

}  // namespace bentline::window
