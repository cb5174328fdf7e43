// What may lie over the sheets: keys, history, confident notes, bars, hand out, unsaved changes.
#include <algorithm>
#include <array>
#include <cmath>

#include "ui/window/keymap.h"
#include "ui/window/overlay.h"
#include "ui/window/spelling.h"
#include "ui/window/typing.h"

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
    Kit::make_typable(text);
    k.learn(k.f.text, text);
    if (focus) ImGui::SetKeyboardFocusHere();
    const bool entered = type_on(id, text, size);
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
    const Box b = overlay_sheet(page, 640, 410, "Bars and heading");
    auto& fields = page.scratch.bar_fields;
    const bool begins = page.scratch.overlay_shown != static_cast<int>(Overlay::bars);
    if (begins) {
        const std::array<std::string, 6> now{
            s.draft.bars ? std::to_string(static_cast<int>(
                               std::lround(s.draft.bars->tempo_at(Beats(0)).value())))
                         : "",
            s.draft.bars ? to_text(s.draft.bars->metre()) : "4/4",
            to_text(s.draft.keys()),
            to_text(s.draft.form),
            s.draft.title,
            s.draft.players};
        for (std::size_t i = 0; i < now.size(); ++i) {
            fields[i].fill('\0');
            now[i].copy(fields[i].data(), fields[i].size() - 1);
        }
    }
    struct Field {
        const char* label;
        const char* help;
    };
    constexpr std::array<Field, 6> rows{{{"Tempo", "beats a minute, 20 to 400"},
                                         {"Metre", "4/4, 3/4, 6/8 …"},
                                         {"Key", "Eb, F#m; Eb, B in Ab …"},
                                         {"Form", "AABA, A12, A16 B8, AABA x3 …"},
                                         {"Title", "heads the sheet that you hand out"},
                                         {"Players", "and stands under it"}}};
    bool entered = false;
    for (std::size_t i = 0; i < rows.size(); ++i) {
        const float y = b.y0 + k.pt(40) * static_cast<float>(i);
        k.text_in(k.f.text, {b.x0, y, b.x0 + k.pt(80), y + k.pt(30)}, Align::left, k.c.ink,
                  rows[i].label);
        const std::string id = std::string("##") + rows[i].label;
        entered |=
            text_field(page, id.c_str(), {b.x0 + k.pt(90), y, b.x0 + k.pt(340), y + k.pt(30)},
                       fields[i].data(), fields[i].size(), begins && i == 0);
        k.text_in(k.f.small, {b.x0 + k.pt(354), y, b.x1, y + k.pt(30)}, Align::left, k.c.soft,
                  rows[i].help);
    }
    k.text_in(
        k.f.small, {b.x0, b.y0 + k.pt(246), b.x1, b.y0 + k.pt(266)}, Align::left, k.c.soft,
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
        if (fields[4].data() != s.draft.title || fields[5].data() != s.draft.players)
            page.ask(intents::SetHeading{fields[4].data(), fields[5].data()});
        page.ask(intents::Show{Overlay::none});
    }
}

void draw_hand_out(const Page& page) {
    const Kit& k = page.kit;
    const Box b = overlay_sheet(page, 640, 440, "Hand out");
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
    constexpr std::array<Form, 7> forms{
        {{"sheet", "Sheet …", "P", "staff and tablature on paper, as PDF or SVG", Purpose::sheet},
         {"musicxml", "Score file …", "X", "MusicXML, for notation programs", Purpose::musicxml},
         {"tab", "Text tablature …", "B", "to be read anywhere", Purpose::tab},
         {"csv", "Measurements …", "T", "a table: every note, its cents, bends and vibrato",
          Purpose::csv},
         {"lesson", "Lesson sheet …", "L",
          "what the solo does and how to practise it, for a browser", Purpose::lesson},
         {"clips", "Practice clips …", "C", "the bars as slow sound files, in a folder",
          Purpose::clips},
         {"draft", "Draft file …", "S", "everything, to go on another evening", Purpose::save}}};
    float y = 34;
    for (const Form& form : forms) {
        if (line(y, form.id, form.label, form.key, form.help))
            page.ask(intents::Choose{form.purpose});
        y += 34;
    }
    const auto& notes = page.s.draft.notes;
    const auto inked = std::count_if(notes.begin(), notes.end(),
                                     [](const DraftNote& note) { return note.inked(); });
    const float below =
        k.paragraph(k.f.text, {b.x0, b.y0 + k.pt(y + 14), b.x1, b.y1}, k.c.ink,
                    "Only inked notes are handed out: " + std::to_string(inked) + " of " +
                        std::to_string(notes.size()) + " are. The pencilled ones are proposals.");
    k.paragraph(
        k.f.text, {b.x0, below + k.pt(4), b.x1, b.y1}, k.c.soft,
        "A solo and a recording have owners: the player, the composer, the label. Check the rights "
        "before you hand out copies.");
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
        case Overlay::focus:
            draw_focus(page);
            break;
        case Overlay::guard:
            draw_guard(page);
            break;
    }
}

}  // namespace bentline::window
