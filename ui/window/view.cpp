// One frame: the keys, then the sheets, then what lies over them.
#include "ui/window/view.h"

#include <string>
#include <utility>
#include <variant>

#include "engine/export/engraving/line.h"
#include "ui/window/keymap.h"
#include "ui/window/page.h"

namespace bentline::window {
namespace {

constexpr ImGuiWindowFlags bare = ImGuiWindowFlags_NoDecoration | ImGuiWindowFlags_NoMove |
                                  ImGuiWindowFlags_NoSavedSettings | ImGuiWindowFlags_NoNav |
                                  ImGuiWindowFlags_NoBackground;

// Does something come to lie over the sheets?
bool covers(const Intent& intent) {
    return std::holds_alternative<intents::Show>(intent) ||
           std::holds_alternative<intents::Choose>(intent) ||
           std::holds_alternative<intents::Leave>(intent);
}

// Strokes go to the sheets only when nothing lies over them and no text is being typed. Those that
// were made after one that covers the sheets are left for the next frame: they are meant for what
// will then lie there.
std::vector<std::string> take_strokes(const Page& page) {
    if (page.s.overlay != Overlay::none || page.scratch.chord_bar || page.scratch.section_bar)
        return {};
    const std::vector<std::string>& strokes = page.scratch.strokes;
    for (std::size_t i = 0; i < strokes.size(); ++i) {
        const std::string& stroke = strokes[i];
        // While nothing is open, figures stand for the files of the evenings before.
        if (!page.s.open && stroke.size() == 1 && stroke[0] >= '1' && stroke[0] <= '6' &&
            static_cast<std::size_t>(stroke[0] - '1') < page.s.remembered.recent.size()) {
            page.ask(
                intents::Open{page.s.remembered.recent[static_cast<std::size_t>(stroke[0] - '1')]});
            continue;
        }
        const Command* command = command_of(stroke, page.s.remembered.keys);
        if (command == nullptr) continue;
        const std::string_view name = command->name;
        if (name == "chord" || name == "section") {
            if (!page.s.draft.bars || strokes.size() != 1) continue;
            const int bar = page.s.draft.bars->position_at(page.s.play.at).bar;
            (name == "chord" ? page.scratch.chord_bar : page.scratch.section_bar) = bar;
            page.scratch.typed.fill('\0');
            continue;
        }
        const auto intent = intent_of(stroke, page.s);
        if (!intent) continue;
        page.ask(*intent);
        if (covers(*intent))
            return {strokes.begin() + static_cast<std::ptrdiff_t>(i) + 1, strokes.end()};
    }
    return {};
}

}  // namespace

std::string Page::key_of(const char* command) const {
    return stroke_words(stroke_of(command, s.remembered.keys));
}

bool shows_manuscript(const State& s) {
    return s.open && s.draft.bars && s.remembered.manuscript;
}

float manuscript_needs(const State& s) {
    const int strings = s.manuscript ? s.manuscript->strings : s.draft.neck.strings();
    const double tab = engraving::tab_gap * std::max(0, strings - 1);
    const ManuscriptRoom& room = s.manuscript_room;
    return staff_space * static_cast<float>(room.above + room.between + tab) + 6.0F;
}

std::vector<Intent> draw(const State& state, Scratch& scratch) {
    std::vector<Intent> asked;
    scratch.shortened.clear();
    scratch.queries.clear();
    if (scratch.texts) scratch.texts = Scratch::Texts{};
    const ImVec2 extent = ImGui::GetIO().DisplaySize;
    ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, ImVec2(0, 0));
    ImGui::PushStyleVar(ImGuiStyleVar_WindowBorderSize, 0.0F);
    ImGui::SetNextWindowPos(ImVec2(0, 0));
    ImGui::SetNextWindowSize(extent);
    ImGui::Begin("desk", nullptr, bare | ImGuiWindowFlags_NoBringToFrontOnFocus);
    const Palette& colours = palette(state.remembered.dark ? Paper::dark : Paper::light);
    const Page page{state, scratch, Kit(ImGui::GetWindowDrawList(), colours, scratch),
                    lay_out(extent.x, extent.y, scratch.scale, shows_manuscript(state),
                            manuscript_needs(state)),
                    asked};
    std::vector<std::string> later = take_strokes(page);
    page.kit.fill({0, 0, extent.x, extent.y}, colours.desk);
    draw_heading(page);
    draw_overview(page);
    draw_margin(page);
    if (page.l.chart.w() > 0) draw_chart(page);
    draw_bench(page);
    if (page.l.manuscript.h() > page.kit.pt(60)) draw_manuscript(page);
    draw_stage(page);
    draw_slip(page);
    draw_transport(page);
    if (scratch.drag.grip != Grip::none && !ImGui::IsMouseDown(ImGuiMouseButton_Left)) {
        scratch.drag = Drag{};
    }
    ImGui::End();
    if (state.overlay != Overlay::none) {
        ImGui::SetNextWindowPos(ImVec2(0, 0));
        ImGui::SetNextWindowSize(extent);
        ImGui::SetNextWindowFocus();
        ImGui::Begin("over the desk", nullptr, bare);
        const Page over{state, scratch, Kit(ImGui::GetWindowDrawList(), colours, scratch), page.l,
                        asked};
        if (scratch.texts) scratch.texts->over = scratch.texts->all.size();
        // The preview of confident notes and the focus want the bench in view.
        const bool low = state.overlay == Overlay::confident || state.overlay == Overlay::focus;
        const unsigned veil = low ? 60 : 190;
        over.kit.fill({0, 0, extent.x, extent.y}, with_alpha(colours.desk, veil));
        draw_overlay(over);
        ImGui::End();
    }
    scratch.overlay_shown = static_cast<int>(state.overlay);
    ImGui::PopStyleVar(2);
    scratch.strokes = std::move(later);
    return asked;
}

}  // namespace bentline::window
