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

Box overlay_sheet(const Page& page, float width, float height, const std::string& title,
                  Where where) {
    const Kit& k = page.kit;
    const ImVec2 extent = ImGui::GetIO().DisplaySize;
    const float w = std::min(k.pt(width), extent.x - k.pt(40)),
                h = std::min(k.pt(height), extent.y - k.pt(40));
    // Low: on the bench's foot, so that chart and grid stay in view.
    const float x0 =
        where == Where::low ? page.l.bench.x0 + k.pt(10) : std::round((extent.x - w) / 2);
    const float y0 = where == Where::low ? extent.y - h - k.pt(8) : std::round((extent.y - h) / 2);
    const Box b{x0, y0, x0 + w, y0 + h};
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

void draw_confident(const Page& page) {
    const Kit& k = page.kit;
    const State& s = page.s;
    std::size_t would = 0, pencilled = 0;
    for (const DraftNote& n : s.draft.notes) {
        if (n.inked()) continue;
        ++pencilled;
        would += n.note.confidence.value_or(0) >= s.threshold ? 1 : 0;
    }
    const Box b = overlay_sheet(page, 620, 236, "Ink the confident notes", Where::low);
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
                  " pencilled notes would be inked; shown solid above.");
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
            s.draft.bars ? to_text(s.draft.bars->metre()) : "4/4", to_text(s.draft.keys()),
            to_text(s.draft.form)};
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
                                         {"Key", "Eb, F#m; Eb, B in Ab …"},
                                         {"Form", "AABA, A12, A16 B8, AABA x3 …"}}};
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
        // The key may name a section of the form.
        if (fields[3].data() != to_text(s.draft.form)) page.ask(intents::SetForm{fields[3].data()});
        page.ask(intents::SetKey{fields[2].data()});
        page.ask(intents::Show{Overlay::none});
    }
}

void draw_hand_out(const Page& page) {
    const Kit& k = page.kit;
    const Box b = overlay_sheet(page, 640, 386, "Hand out");
    const auto line = [&](float y, const char* id, const char* label, const char* key,
                          const char* help) {
        const bool chosen =
            k.word(id, {b.x0 - k.pt(6), b.y0 + k.pt(y), b.x0 + k.pt(180), b.y0 + k.pt(y + 30)},
                   label, key, false, true, Align::left);
        k.text_in(k.f.small, {b.x0 + k.pt(204), b.y0 + k.pt(y), b.x1, b.y0 + k.pt(y + 30)},
                  Align::left, k.c.soft, help);
        const char stroke[] = {static_cast<char>(key[0] - 'A' + 'a'), '\0'};
        return chosen || pressed(page, stroke);
    };
    if (line(0, "midi", "MIDI file …", "M",
             "the inked notes, with their bends as they were played")) {
        page.ask(intents::Choose{Purpose::midi});
    }
    struct Form {
        const char* id;
        const char* label;
        const char* key;
        const char* help;
        Purpose purpose;
    };
    constexpr std::array<Form, 6> forms{
        {{"sheet", "Sheet …", "P", "staff and tablature on paper, as PDF or SVG", Purpose::sheet},
         {"musicxml", "Score file …", "X", "MusicXML, for notation programs", Purpose::musicxml},
         {"tab", "Text tablature …", "B", "to be read anywhere", Purpose::tab},
         {"csv", "Measurements …", "T", "a table: every note, its cents, bends and vibrato",
          Purpose::csv},
         {"clips", "Practice clips …", "C", "the bars as slow sound files, in a folder",
          Purpose::clips},
         {"draft", "Draft file …", "S", "everything, to go on another evening", Purpose::save}}};
    float y = 34;
    for (const Form& form : forms) {
        if (line(y, form.id, form.label, form.key, form.help))
            page.ask(intents::Choose{form.purpose});
        y += 34;
    }
    k.paragraph(
        k.f.text, {b.x0, b.y0 + k.pt(y + 14), b.x1, b.y1}, k.c.soft,
        "A solo and a recording have owners: the player, the composer, the label. Check the rights "
        "before you "
        "hand out copies. A pencilled note is a proposal; only inked notes are handed out.");
}

void draw_practice(const Page& page) {
    const Kit& k = page.kit;
    const PlayState& p = page.s.play;
    const Box b = overlay_sheet(page, 660, 400, "Practice");
    const float half = b.w() / 2 - k.pt(14), right = b.x0 + half + k.pt(28);
    const auto percent = [](double v) { return std::to_string(std::lround(v * 100)) + " %"; };
    const Ruler clicks{"Clicks before the sound",
                       p.count_in == 0 ? "none" : std::to_string(p.count_in),
                       static_cast<double>(p.count_in),
                       0,
                       8,
                       0,
                       false,
                       8};
    if (const auto v = k.ruler("count-in", {b.x0, b.y0, b.x0 + half, b.y0 + k.pt(52)}, clicks)) {
        page.ask(intents::SetCountIn{static_cast<int>(std::lround(*v))});
    }
    SpeedTrainer t = p.trainer.value_or(SpeedTrainer{});
    const float y = b.y0 + k.pt(72);
    const bool on = p.trainer.has_value();
    if (k.word("trainer",
               {right - k.pt(6), b.y0 + k.pt(10), right + half + k.pt(6), b.y0 + k.pt(40)},
               on ? "The speed rises" : "Let the speed rise", "T", on, true, Align::left) ||
        pressed(page, "t")) {
        page.ask(on ? Intent(intents::TrainerOff{})
                    : Intent(intents::SetTrainer{t.start, t.step, t.end, t.rounds}));
    }
    const auto place = [&](int i) {
        const int row = i / 2;
        const float x = i % 2 == 0 ? b.x0 : right, top = y + k.pt(62) * static_cast<float>(row);
        return Box{x, top, x + half, top + k.pt(52)};
    };
    bool changed = false;
    const auto take = [&](const char* id, int i, const Ruler& ruler, double step, auto set) {
        if (const auto v = k.ruler(id, place(i), ruler)) {
            set(std::round(*v / step) * step);
            changed = true;
        }
    };
    take("t-start", 0, {"From", percent(t.start), t.start, 0.1, 1.0, 0.5, false, 9}, 0.05,
         [&](double v) { t.start = v; });
    take("t-end", 1, {"Up to", percent(t.end), t.end, 0.1, 2.0, 1.0, false, 19}, 0.05,
         [&](double v) { t.end = v; });
    take("t-step", 2, {"By", percent(t.step), t.step, 0.0, 0.2, 0.05, false, 20}, 0.01,
         [&](double v) { t.step = std::max(0.01, v); });
    take("t-rounds", 3,
         {"After rounds", std::to_string(t.rounds), static_cast<double>(t.rounds), 0, 8, 2, false,
          8},
         1, [&](double v) { t.rounds = std::max(1, static_cast<int>(v)); });
    if (changed) page.ask(intents::SetTrainer{t.start, t.step, t.end, t.rounds});

    if (k.word("apart", {right - k.pt(6), y + k.pt(128), right + half + k.pt(6), y + k.pt(158)},
               p.apart ? "Recording left, draft right" : "Recording and draft in the middle", "S",
               p.apart, true, Align::left) ||
        pressed(page, "s")) {
        page.ask(intents::HearApart{!p.apart});
    }
    float line = y + k.pt(134);
    k.text(k.f.strong, b.x0, line, k.c.span, "Where the sound goes");
    line += k.pt(24);
    const auto device = [&](const std::string& name, const std::string& label) {
        if (line + k.pt(24) > b.y1) return;
        const bool chosen = p.device == name;
        const Box box{b.x0, line, b.x1, line + k.pt(24)};
        const Kit::Touch touch = k.area(("device-" + name).c_str(), box);
        if (touch.hovered) k.fill(box, k.c.shade);
        if (chosen)
            k.fill({box.x0, box.y0 + k.pt(3), box.x0 + k.pt(3), box.y1 - k.pt(3)}, k.c.span);
        k.text_in(chosen ? k.f.strong : k.f.text, {box.x0 + k.pt(12), box.y0, box.x1, box.y1},
                  Align::left, k.c.ink, label);
        if (touch.clicked) page.ask(intents::ChooseDevice{name});
        line += k.pt(24);
    };
    device("", "As the system chooses");
    for (const std::string& name : p.devices)
        device(name, name);
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

void draw_recovery(const Page& page) {
    const Kit& k = page.kit;
    if (!page.s.kept) return;
    const Kept& kept = *page.s.kept;
    const Box b = overlay_sheet(page, 620, 320, "Found again");
    const std::string count =
        std::to_string(kept.edits) + (kept.edits == 1 ? " change" : " changes");
    float y = k.paragraph(k.f.text, b, k.c.ink,
                          "Last time ended before the draft was saved. " + count +
                              (kept.cut_off ? " could be read back, the one after was broken off."
                                            : " could be read back, every one.") +
                              " The last of them:");
    y += k.pt(6);
    for (const std::string& words : kept.last_words) {
        k.text_in(k.f.small, {b.x0 + k.pt(14), y, b.x1, y + k.pt(18)}, Align::left, k.c.soft,
                  sentence_with_signs(words));
        y += k.pt(19);
    }
    const auto answer = [&](float x, const char* id, const char* label, const char* key,
                            const char* stroke, bool take) {
        const Box box{b.x0 + k.pt(x), b.y1 - k.pt(38), b.x0 + k.pt(x + 180), b.y1 - k.pt(6)};
        if (k.word(id, box, label, key, take) || pressed(page, stroke))
            page.ask(intents::Recover{take});
    };
    answer(0, "take-kept", "Go on with them", "Enter", "enter", true);
    answer(196, "drop-kept", "Throw them away", "L", "l", false);
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
        case Overlay::practice:
            draw_practice(page);
            break;
        case Overlay::recovery:
            draw_recovery(page);
            break;
        case Overlay::guard:
            draw_guard(page);
            break;
    }
}

}  // namespace bentline::window
