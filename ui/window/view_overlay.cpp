// What may lie over the sheets: keys, history, confident notes, bars, hand out, unsaved changes.
#include <algorithm>
#include <array>
#include <cmath>

#include "ui/window/keymap.h"
#include "ui/window/overlay.h"
#include "ui/window/spelling.h"

namespace bentline::window {

bool pressed(const Page& page, std::string_view stroke) {
    const auto& all = page.scratch.strokes;
    return std::find(all.begin(), all.end(), stroke) != all.end();
}

Box overlay_sheet(const Page& page, float width, float height, const std::string& title) {
    const Kit& k = page.kit;
    const ImVec2 extent = ImGui::GetIO().DisplaySize;
    const float w = std::min(k.pt(width), extent.x - k.pt(40)),
                h = std::min(k.pt(height), extent.y - k.pt(40));
    const Box b{std::round((extent.x - w) / 2), std::round((extent.y - h) / 2),
                std::round((extent.x + w) / 2), std::round((extent.y + h) / 2)};
    k.sheet(b);
    k.text_in(k.f.title, {b.x0 + k.pt(24), b.y0 + k.pt(14), b.x1 - k.pt(110), b.y0 + k.pt(46)},
              Align::left, k.c.ink, title);
    if (k.word("close", {b.x1 - k.pt(104), b.y0 + k.pt(16), b.x1 - k.pt(14), b.y0 + k.pt(44)},
               "Close", "Esc") ||
        pressed(page, "escape")) {
        page.ask(intents::Show{Overlay::none});
    }
    k.line(b.x0 + k.pt(24), b.y0 + k.pt(52), b.x1 - k.pt(24), b.y0 + k.pt(52), k.c.rule, 1);
    return {b.x0 + k.pt(24), b.y0 + k.pt(62), b.x1 - k.pt(24), b.y1 - k.pt(18)};
}

bool text_field(const Page& page, const char* id, const Box& box, char* text, std::size_t size,
                bool focus) {
    const Kit& k = page.kit;
    k.fill(box, k.c.shade);
    k.line(box.x0, box.y1, box.x1, box.y1, k.c.soft, 1.2F);
    ImGui::SetCursorScreenPos(at(box.x0, box.y0));
    ImGui::PushItemWidth(box.w());
    ImGui::PushStyleColor(ImGuiCol_FrameBg, with_alpha(k.c.shade, 0));
    ImGui::PushStyleColor(ImGuiCol_Text, k.c.ink);
    ImGui::PushStyleColor(ImGuiCol_TextSelectedBg, with_alpha(k.c.span, 90));
    ImGui::PushStyleVar(ImGuiStyleVar_FramePadding,
                        ImVec2(k.pt(6), std::max(0.0F, (box.h() - k.f.text->FontSize) / 2)));
    ImGui::PushFont(k.f.text);
    if (focus) ImGui::SetKeyboardFocusHere();
    const bool entered = ImGui::InputText(id, text, size, ImGuiInputTextFlags_EnterReturnsTrue);
    ImGui::PopFont();
    ImGui::PopStyleVar();
    ImGui::PopStyleColor(3);
    ImGui::PopItemWidth();
    return entered;
}

namespace {

void draw_keys(const Page& page) {
    const Kit& k = page.kit;
    const Box b = overlay_sheet(page, 1120, 640, "What the keys do");
    k.text_in(k.f.small, {b.x0, b.y1 - k.pt(16), b.x1, b.y1 + k.pt(2)}, Align::left, k.c.soft,
              page.scratch.binding.empty() ? "Press a line, then the new key for it. C writes the "
                                             "chord of the bar; Esc lets go of one thing at a time."
                                           : "Now press the key for it, or Esc to leave it.");
    constexpr int columns = 3;
    const float w = b.w() / columns, row = k.pt(20.5F);
    float y = b.y0;
    int column = 0;
    const char* group = "";
    for (const Command& command : commands()) {
        const bool begins = std::string_view(group) != command.group;
        const float need = begins ? row * 2.2F : row;
        if (y + need > b.y1 - k.pt(22) || (begins && y + row * 4 > b.y1 - k.pt(22))) {
            ++column;
            y = b.y0;
        }
        const float x = b.x0 + static_cast<float>(column) * w;
        if (begins) {
            if (y > b.y0) y += row * 0.35F;
            k.text(k.f.strong, x, y, k.c.span, command.group);
            y += row * 1.05F;
            group = command.group;
        }
        const Box line{x, y, x + w - k.pt(18), y + row};
        const Kit::Touch touch = k.area(command.name, line);
        if (touch.hovered || page.scratch.binding == command.name) k.fill(line, k.c.shade);
        if (touch.clicked) page.scratch.binding = command.name;
        k.text_in(k.f.strong, {line.x0 + k.pt(2), line.y0, line.x0 + k.pt(102), line.y1},
                  Align::left, k.c.ink, page.key_of(command.name));
        k.text_in(k.f.text, {line.x0 + k.pt(106), line.y0, line.x1, line.y1}, Align::left, k.c.soft,
                  command.words);
        y += row;
    }
    if (!page.scratch.binding.empty()) {
        for (const std::string& stroke : page.scratch.strokes) {
            if (stroke != "escape") page.ask(intents::BindKey{stroke, page.scratch.binding});
            page.scratch.binding.clear();
            break;
        }
    }
}

void draw_history(const Page& page) {
    const Kit& k = page.kit;
    const State& s = page.s;
    const Box b = overlay_sheet(page, 620, 560, "Done so far");
    std::vector<std::string> all = s.done;
    all.insert(all.end(), s.undone.begin(), s.undone.end());
    const int done = static_cast<int>(s.done.size()), count = static_cast<int>(all.size());
    if (page.scratch.overlay_shown != static_cast<int>(Overlay::history)) page.scratch.row = done;
    int& row = page.scratch.row;
    if (pressed(page, "up")) --row;
    if (pressed(page, "down")) ++row;
    row = std::clamp(row, 0, count);
    if (pressed(page, "enter")) page.ask(intents::GoBackTo{row});
    const float h = k.pt(24);
    const int fit = std::max(1, static_cast<int>((b.h() - k.pt(24)) / h));
    const int first = std::clamp(row - fit / 2, 0, std::max(0, count + 1 - fit));
    for (int i = first; i <= count && i < first + fit; ++i) {
        const float y = b.y0 + static_cast<float>(i - first) * h;
        const Box line{b.x0, y, b.x1, y + h};
        const std::string id = "done-" + std::to_string(i);
        const Kit::Touch touch = k.area(id.c_str(), line);
        if (touch.hovered || i == row) k.fill(line, k.c.shade);
        if (touch.clicked) page.ask(intents::GoBackTo{i});
        if (i == done) {
            k.list().AddTriangleFilled(at(line.x0, line.mid_y() - k.pt(5)),
                                       at(line.x0 + k.pt(8), line.mid_y()),
                                       at(line.x0, line.mid_y() + k.pt(5)), k.c.here);
        }
        const std::string words =
            i == 0 ? "as it was opened" : all[static_cast<std::size_t>(i - 1)];
        k.text_in(k.f.text, {line.x0 + k.pt(16), y, line.x1, y + h}, Align::left,
                  i <= done ? k.c.ink : k.c.soft, i > done ? words + "  (undone)" : words);
    }
    k.text_in(k.f.small, {b.x0, b.y1 - k.pt(16), b.x1, b.y1 + k.pt(2)}, Align::left, k.c.soft,
              "Choose a line with the arrows and Enter, or press it: the draft goes back or forth "
              "to there.");
}

void draw_confident(const Page& page) {
    const Kit& k = page.kit;
    const State& s = page.s;
    std::size_t would = 0, pencilled = 0;
    for (const DraftNote& n : s.draft.notes) {
        if (n.inked()) continue;
        ++pencilled;
        would += n.note.confidence.value_or(0) >= s.threshold ? 1 : 0;
    }
    const Box b = overlay_sheet(page, 560, 250, "Ink the confident notes");
    const Ruler ruler{"At least so sure",
                      std::to_string(std::lround(s.threshold * 100)) + " %",
                      s.threshold,
                      0,
                      1,
                      0.85,
                      false,
                      20};
    if (const auto v = k.ruler("threshold", {b.x0, b.y0, b.x1, b.y0 + k.pt(52)}, ruler)) {
        page.ask(intents::SetThreshold{std::round(*v * 100) / 100});
    }
    if (pressed(page, "left")) page.ask(intents::SetThreshold{std::max(0.0, s.threshold - 0.05)});
    if (pressed(page, "right")) page.ask(intents::SetThreshold{std::min(1.0, s.threshold + 0.05)});
    k.text_in(k.f.text, {b.x0, b.y0 + k.pt(62), b.x1, b.y0 + k.pt(84)}, Align::left, k.c.ink,
              std::to_string(would) + " of " + std::to_string(pencilled) +
                  " pencilled notes would be inked; they are shown solid behind.");
    const bool able = would > 0;
    if (k.word("ink-them", {b.x0, b.y1 - k.pt(40), b.x0 + k.pt(150), b.y1 - k.pt(8)}, "Ink them",
               "Enter", true, able) ||
        (able && pressed(page, "enter"))) {
        page.ask(intents::InkConfident{});
        page.ask(intents::Show{Overlay::none});
    }
}

void draw_bars(const Page& page) {
    const Kit& k = page.kit;
    const State& s = page.s;
    const Box b = overlay_sheet(page, 600, 330, "Bars");
    auto& fields = page.scratch.bar_fields;
    const bool begins = page.scratch.overlay_shown != static_cast<int>(Overlay::bars);
    if (begins) {
        const std::array<std::string, 4> now{
            s.draft.bars ? std::to_string(static_cast<int>(
                               std::lround(s.draft.bars->tempo_at(Beats(0)).value())))
                         : "",
            s.draft.bars ? to_text(s.draft.bars->metre()) : "4/4",
            s.draft.key ? to_text(*s.draft.key) : "", to_text(s.draft.form)};
        for (std::size_t i = 0; i < 4; ++i) {
            fields[i].fill('\0');
            now[i].copy(fields[i].data(), fields[i].size() - 1);
        }
    }
    struct Field {
        const char* label;
        const char* help;
    };
    constexpr std::array<Field, 4> rows{{{"Tempo", "beats a minute, 20 to 400"},
                                         {"Metre", "4/4, 3/4, 6/8 …"},
                                         {"Key", "Eb, F#m, C minor …"},
                                         {"Form", "AABA, A12, A16 B8 …"}}};
    bool entered = false;
    for (std::size_t i = 0; i < 4; ++i) {
        const float y = b.y0 + k.pt(40) * static_cast<float>(i);
        k.text_in(k.f.text, {b.x0, y, b.x0 + k.pt(80), y + k.pt(30)}, Align::left, k.c.ink,
                  rows[i].label);
        const std::string id = std::string("##") + rows[i].label;
        entered |=
            text_field(page, id.c_str(), {b.x0 + k.pt(90), y, b.x0 + k.pt(280), y + k.pt(30)},
                       fields[i].data(), fields[i].size(), begins && i == 0);
        k.text_in(k.f.small, {b.x0 + k.pt(294), y, b.x1, y + k.pt(30)}, Align::left, k.c.soft,
                  rows[i].help);
    }
    k.text_in(
        k.f.small, {b.x0, b.y0 + k.pt(166), b.x1, b.y0 + k.pt(186)}, Align::left, k.c.soft,
        "Without bars yet, bar 1 begins where the play line stands. Tab goes from field to field.");
    if (k.word("set-bars", {b.x0, b.y1 - k.pt(36), b.x0 + k.pt(150), b.y1 - k.pt(4)}, "Set them",
               "Enter", true) ||
        entered) {
        const std::string tempo = fields[0].data();
        char* end = nullptr;
        const double bpm = std::strtod(tempo.c_str(), &end);
        if (!tempo.empty()) page.ask(intents::SetTempo{end == tempo.c_str() ? 0.0 : bpm});
        if (fields[1][0] != '\0') page.ask(intents::SetMetre{fields[1].data()});
        page.ask(intents::SetKey{fields[2].data()});
        page.ask(intents::SetForm{fields[3].data()});
        page.ask(intents::Show{Overlay::none});
    }
}

void draw_hand_out(const Page& page) {
    const Kit& k = page.kit;
    const Box b = overlay_sheet(page, 600, 290, "Hand out");
    const auto line = [&](float y, const char* id, const char* label, const char* key,
                          const char* help) {
        const bool chosen =
            k.word(id, {b.x0, b.y0 + k.pt(y), b.x0 + k.pt(190), b.y0 + k.pt(y + 30)}, label, key);
        k.text_in(k.f.small, {b.x0 + k.pt(204), b.y0 + k.pt(y), b.x1, b.y0 + k.pt(y + 30)},
                  Align::left, k.c.soft, help);
        return chosen || pressed(page, key[0] == 'M' ? "m" : "s");
    };
    if (line(0, "midi", "MIDI file …", "M",
             "the inked notes, with their bends as they were played")) {
        page.ask(intents::Choose{Purpose::midi});
    }
    if (line(40, "draft", "Draft file …", "S", "everything, to go on another evening")) {
        page.ask(intents::Choose{Purpose::save});
    }
    k.paragraph(
        k.f.text, {b.x0, b.y0 + k.pt(96), b.x1, b.y1}, k.c.soft,
        "A solo and a recording have owners: the player, the composer, the label. Check the rights "
        "before you "
        "hand out copies. A pencilled note is a proposal; only inked notes are handed out.");
}

void draw_guard(const Page& page) {
    const Kit& k = page.kit;
    const Box b = overlay_sheet(page, 520, 220, "Not saved yet");
    k.paragraph(k.f.text, {b.x0, b.y0, b.x1, b.y1}, k.c.ink,
                "The draft has changes that are not in a file. Without saving they are lost.");
    const auto answer = [&](float x, const char* id, const char* label, const char* key,
                            const char* stroke, Answer a) {
        const Box box{b.x0 + k.pt(x), b.y1 - k.pt(38), b.x0 + k.pt(x + 140), b.y1 - k.pt(6)};
        if (k.word(id, box, label, key, a == Answer::save) || pressed(page, stroke))
            page.ask(intents::Unsaved{a});
    };
    answer(0, "guard-save", "Save", "Enter", "enter", Answer::save);
    answer(150, "guard-drop", "Lose them", "L", "l", Answer::drop);
    answer(300, "guard-stay", "Go back", "B", "b", Answer::stay);
}

}  // namespace

void draw_overlay(const Page& page) {
    switch (page.s.overlay) {
        case Overlay::none:
            break;
        case Overlay::chooser:
            draw_chooser(page);
            break;
        case Overlay::keys:
            draw_keys(page);
            break;
        case Overlay::history:
            draw_history(page);
            break;
        case Overlay::confident:
            draw_confident(page);
            break;
        case Overlay::bars:
            draw_bars(page);
            break;
        case Overlay::hand_out:
            draw_hand_out(page);
            break;
        case Overlay::guard:
            draw_guard(page);
            break;
    }
}

}  // namespace bentline::window
