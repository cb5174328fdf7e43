// Sheets of rulers over the desk: practising, and the focus.
#include <algorithm>
#include <cmath>
#include <utility>

#include "ui/window/overlay.h"
#include "ui/window/spelling.h"

namespace bentline::window {

Rows::Rows(const Page& page, Overlay overlay, int count) : page_(page) {
    int& row = page.scratch.row;
    if (page.scratch.overlay_shown != static_cast<int>(overlay)) row = 0;
    if (pressed(page, "up")) --row;
    if (pressed(page, "down")) ++row;
    row = std::clamp(row, 0, std::max(0, count - 1));
}

std::optional<double> Rows::ruler(const char* id, const Box& box, Ruler ruler, double step) {
    ruler.chosen = next_++ == page_.scratch.row;
    const auto whole = [&](double v) {
        return std::clamp(std::round(v / step) * step, ruler.low, ruler.high);
    };
    if (const auto dragged = page_.kit.ruler(id, box, ruler)) return whole(*dragged);
    if (!ruler.chosen) return std::nullopt;
    const int by = (pressed(page_, "right") ? 1 : 0) - (pressed(page_, "left") ? 1 : 0);
    const double next = whole(ruler.now + by * step);
    return by == 0 || next == ruler.now ? std::nullopt : std::optional(next);
}

std::optional<double> Rows::edited(const char* id, const Box& box, Ruler ruler, double step,
                                   const std::function<std::string(double)>& words) {
    auto& riding = page_.scratch.riding;
    const int row = next_;
    const bool held = riding && riding->first == row;
    const double before = ruler.now;
    if (held) ruler.now = riding->second;
    ruler.value = words(ruler.now);
    const std::optional<double> next = this->ruler(id, box, ruler, step);
    const bool down = ImGui::IsMouseDown(ImGuiMouseButton_Left);
    if (next && down) riding = {row, *next};
    if (down) return std::nullopt;
    if (held) {
        const double last = std::exchange(riding, std::nullopt)->second;
        return last == before ? std::nullopt : std::optional(last);
    }
    return next;
}

Rows::Chosen Rows::word() {
    const bool here = next_++ == page_.scratch.row;
    return {here, here && pressed(page_, "enter")};
}

namespace {

void chosen_mark(const Kit& k, const Box& box) {
    const float half = k.pt(8.5F);  // as high as a ruler's mark
    k.fill({box.x0 - k.pt(9), box.mid_y() - half, box.x0 - k.pt(6), box.mid_y() + half}, k.c.span);
}

std::string percent(double share) {
    return std::to_string(std::lround(share * 100)) + " %";
}

void foot(const Page& page, const Box& b, const char* words) {
    const Kit& k = page.kit;
    k.text_in(k.f.small, {b.x0, b.y1 - k.pt(12), b.x1, b.y1 + k.pt(6)}, Align::left, k.c.soft,
              words);
}

// The outputs that there are; the one that is heard stands bold behind a bar.
void draw_devices(const Page& page, const Box& b, Rows& rows) {
    const Kit& k = page.kit;
    const PlayState& p = page.s.play;
    // On one line of writing with the words beside it, as a ruler's label is with its value.
    const float label_y =
        k.beside(k.f.strong, b.y0 + k.pt(8) - k.f.strong->FontSize / 2, k.f.small);
    k.text(k.f.small, b.x0, label_y, k.c.soft, "Where the sound goes");
    const int chosen = page.scratch.row;
    const float h = k.pt(24), top = b.y0 + k.pt(26);
    const int count = static_cast<int>(p.devices.size()) + 1;
    const int fit = std::max(1, static_cast<int>((b.y1 - top) / h));
    constexpr int rows_before = 7;
    const int first = std::clamp(chosen - rows_before - fit + 1, 0, std::max(0, count - fit));
    for (int i = 0; i < count; ++i) {
        const Rows::Chosen row = rows.word();
        const std::string name = i == 0 ? "" : p.devices[static_cast<std::size_t>(i - 1)];
        if (row.enter) page.ask(intents::ChooseDevice{name});
        if (i < first || i >= first + fit) continue;
        const float y = top + static_cast<float>(i - first) * h;
        const Box box{b.x0, y, b.x1, y + h};
        const Kit::Touch touch = k.area(("device-" + name).c_str(), box);
        const bool heard = p.device == name;
        if (touch.hovered || row.here) k.fill(box, k.c.shade);
        if (row.here) chosen_mark(k, box);
        if (heard) k.fill({box.x0, y + k.pt(3), box.x0 + k.pt(3), y + h - k.pt(3)}, k.c.span);
        k.text_in(heard ? k.f.strong : k.f.text, {box.x0 + k.pt(12), y, box.x1, y + h}, Align::left,
                  k.c.ink, i == 0 ? "As the system chooses" : name);
        if (touch.clicked) page.ask(intents::ChooseDevice{name});
    }
}

}  // namespace

void draw_practice(const Page& page) {
    const Kit& k = page.kit;
    const PlayState& p = page.s.play;
    const Box b = overlay_sheet(page, 660, 440, "Practice");
    Rows rows(page, Overlay::practice, 8 + static_cast<int>(p.devices.size()));
    const float half = b.w() / 2 - k.pt(14), right = b.x0 + half + k.pt(28);
    const auto row_y = [&](int row) { return b.y0 + k.pt(62) * static_cast<float>(row); };
    const auto place = [&](int column, int row) {
        const float x = column == 0 ? b.x0 : right;
        return Box{x, row_y(row), x + half, row_y(row) + k.pt(52)};
    };
    // A word that turns something on or off, with a key of its own; it stands where a ruler's label
    // would, its key where the value would.
    const auto turn = [&](const char* id, int row, const char* words, const char* key,
                          const char* stroke, bool on) {
        const float middle = row_y(row) + k.pt(8);
        const Box box{right, middle - k.pt(15), right + half, middle + k.pt(15)};
        const Rows::Chosen chosen = rows.word();
        if (chosen.here) chosen_mark(k, box);
        return k.word(id, {box.x0 - k.pt(6), box.y0, box.x1 + k.pt(6), box.y1}, words, key, on,
                      true, Align::left) ||
               chosen.enter || pressed(page, stroke);
    };
    const Ruler clicks{"Clicks before the sound",
                       p.count_in == 0 ? "none" : std::to_string(p.count_in),
                       static_cast<double>(p.count_in),
                       0,
                       8,
                       0,
                       false,
                       8};
    if (const auto v = rows.ruler("count-in", place(0, 0), clicks, 1))
        page.ask(intents::SetCountIn{static_cast<int>(std::lround(*v))});
    SpeedTrainer t = p.trainer.value_or(SpeedTrainer{});
    const bool on = p.trainer.has_value();
    if (turn("trainer", 0, on ? "The speed rises" : "Let the speed rise", "T", "t", on)) {
        page.ask(on ? Intent(intents::TrainerOff{})
                    : Intent(intents::SetTrainer{t.start, t.step, t.end, t.rounds}));
    }
    bool changed = false;
    const auto take = [&](const char* id, const Box& box, const Ruler& ruler, double step,
                          auto set) {
        if (const auto v = rows.ruler(id, box, ruler, step)) {
            set(*v);
            changed = true;
        }
    };
    take("t-start", place(0, 1), {"From", percent(t.start), t.start, 0.1, 1.0, 0.5, false, 9}, 0.05,
         [&](double v) { t.start = v; });
    take("t-end", place(1, 1), {"Up to", percent(t.end), t.end, 0.1, 2.0, 1.0, false, 19}, 0.05,
         [&](double v) { t.end = v; });
    take("t-step", place(0, 2), {"By", percent(t.step), t.step, 0.0, 0.2, 0.05, false, 20}, 0.01,
         [&](double v) { t.step = std::max(0.01, v); });
    take("t-rounds", place(1, 2),
         {"After rounds", std::to_string(t.rounds), static_cast<double>(t.rounds), 0, 8, 2, false,
          8},
         1, [&](double v) { t.rounds = std::max(1, static_cast<int>(v)); });
    if (changed) page.ask(intents::SetTrainer{t.start, t.step, t.end, t.rounds});
    if (turn("apart", 3,
             p.apart ? "Recording left, draft right" : "Recording and draft in the middle", "S",
             "s", p.apart)) {
        page.ask(intents::HearApart{!p.apart});
    }
    draw_devices(page, {b.x0, row_y(3), b.x1, b.y1 - k.pt(18)}, rows);
    foot(page, b, "Up and down choose, left and right change, Enter takes a word or an output.");
}

void draw_focus(const Page& page) {
    const Kit& k = page.kit;
    const Focus& focus = page.s.draft.focus;
    const Box b = overlay_sheet(page, 660, 268, "The soloist", Where::low);
    Rows rows(page, Overlay::focus, 5);
    const float half = b.w() / 2 - k.pt(14), right = b.x0 + half + k.pt(28);
    const auto place = [&](int column, int row) {
        const float x = column == 0 ? b.x0 : right, y = b.y0 + k.pt(62) * static_cast<float>(row);
        return Box{x, y, x + half, y + k.pt(52)};
    };
    const auto low = static_cast<int>(std::lround(focus.lowest.value()));
    const auto high = static_cast<int>(std::lround(focus.highest.value()));
    const auto named = [&](double key) {
        return spelled_with_octave(MidiKey(static_cast<int>(key)),
                                   page.s.draft.key_at(page.s.play.at));
    };
    const auto placed = [](double at) {
        const std::string side = at < -0.01 ? "left " : at > 0.01 ? "right " : "";
        return side.empty() ? std::string("middle") : side + percent(std::abs(at));
    };
    const auto wide = [](double width) {
        return width >= 2.0 ? std::string("all of it") : percent(width / 2.0);
    };
    // From B0 to E7, as far as a line can be followed.
    constexpr double lowest = 23, highest = 100;
    const Ruler bottom{"Lowest note", "", static_cast<double>(low), lowest, highest, 40, false, 77};
    if (const auto v = rows.edited("focus-low", place(0, 0), bottom, 1, named))
        page.ask(intents::SetRegister{std::min(static_cast<int>(*v), high - 1), high});
    const Ruler top{"Highest note", "", static_cast<double>(high), lowest, highest, 88, false, 77};
    if (const auto v = rows.edited("focus-high", place(1, 0), top, 1, named))
        page.ask(intents::SetRegister{low, std::max(static_cast<int>(*v), low + 1)});
    const Ruler where{"Place on the stage", "", focus.place, -1, 1, 0, false, 20};
    if (const auto v = rows.edited("focus-place", place(0, 1), where, 0.05, placed))
        page.ask(intents::SetStage{*v, focus.width});
    const Ruler width{"Width taken in", "", focus.width, 0, 2, 2, false, 20};
    if (const auto v = rows.edited("focus-width", place(1, 1), width, 0.1, wide))
        page.ask(intents::SetStage{focus.place, std::max(0.1, *v)});
    const Rows::Chosen row = rows.word();
    const Box again{b.x0, b.y0 + k.pt(126), b.x0 + half, b.y0 + k.pt(156)};
    if (row.here) chosen_mark(k, again);
    const bool able = page.s.heard.info.has_value();
    if (k.word("focus-again", {again.x0 - k.pt(6), again.y0, again.x1 + k.pt(6), again.y1},
               page.s.play.loop ? "Pencil the loop again with it" : "Pencil again with it",
               page.key_of("repencil"), false, able, Align::left) ||
        (able && (row.enter || pressed(page, "p")))) {
        page.ask(intents::Show{Overlay::none});
        page.ask(intents::Repencil{});
    }
    foot(page, b,
         "Only what lies inside is followed, and heard on request. Up and down choose, left and "
         "right change.");
}

}  // namespace bentline::window
