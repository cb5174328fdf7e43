// The chart: the chorus as a lead sheet, four bars a line, each with its pitch line and inked
// share.
#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "ui/window/chart_words.h"
#include "ui/window/page.h"
#include "ui/window/spelling.h"
#include "ui/window/typing.h"

namespace bentline::window {
namespace {

constexpr int bars_a_line = 4;

struct Chart {
    Box box;       // where lines may lie
    float margin;  // for section letters
    float line_height;
    int first_bar = 1, last_bar = 0;
    Range<int> rows{52, 77};
    std::vector<int> choruses;  // the bars at which they begin; empty: one
    float larger = 1.0F;        // letters, chords and pens, where lines are high

    // Counted from the page's first place. A pickup stands at the end of a line of its own, so that
    // every fourth bar begins a line.
    int place(int bar) const { return bar - first_bar + (first_bar == 0 ? bars_a_line - 1 : 0); }
    int lines() const { return place(last_bar) / bars_a_line + 1; }
    Box bar_box(int bar, float scroll) const {
        const int index = place(bar);
        const int line = index / bars_a_line;
        const float w = (box.w() - margin) / bars_a_line;
        const float x = box.x0 + margin + static_cast<float>(index % bars_a_line) * w;
        const float y = box.y0 + static_cast<float>(line) * line_height - scroll;
        return {x, y, x + w, y + line_height};
    }
};

int last_bar_of(const State& s) {
    int last = static_cast<int>(s.draft.chords.size());
    for (const Section& section : s.draft.form)
        last = std::max(last, section.first_bar + section.bars - 1);
    if (!s.draft.notes.empty()) {
        const Seconds end = s.draft.notes[s.draft.notes.size() - 1].note.offset;
        last = std::max(last, s.draft.bars->position_at(end - Seconds(0.05)).bar);
    }
    if (last == 0) last = s.draft.bars->position_at(s.duration()).bar;
    return std::clamp(last, 4, 512);
}

// The keys that the small drawings reach over: those of nearly all notes, whatever the bench shows.
Range<int> chart_rows(const State& s) {
    std::array<std::size_t, 128> count{};
    for (const DraftNote& n : s.draft.notes)
        ++count[static_cast<std::size_t>(std::clamp(n.note.key.value(), 0, 127))];
    const std::size_t stray = s.draft.notes.size() / 50;
    int low = 0, high = 127;
    for (std::size_t seen = 0; low < 127; ++low) {
        seen += count[static_cast<std::size_t>(low)];
        if (seen > stray) break;
    }
    for (std::size_t seen = 0; high > 0; --high) {
        seen += count[static_cast<std::size_t>(high)];
        if (seen > stray) break;
    }
    if (low >= high) return s.rows;
    return {low - 1, high + 2};
}

// A text is being typed on the chart; true when it was entered. Escape leaves it as it was.
bool typed_here(const Page& page, const Box& box, std::optional<int>& typing) {
    const Kit& k = page.kit;
    k.fill(box, k.c.shade);
    ImGui::SetCursorScreenPos(at(box.x0, box.y0));
    ImGui::PushItemWidth(box.w());
    ImGui::PushStyleColor(ImGuiCol_FrameBg, k.c.shade);
    ImGui::PushStyleColor(ImGuiCol_Text, k.c.ink);
    ImGui::PushStyleColor(ImGuiCol_TextSelectedBg, with_alpha(k.c.span, 90));
    ImGui::PushFont(k.f.text);
    Kit::make_typable(page.scratch.typed.data());
    k.learn(k.f.text, page.scratch.typed.data());
    if (!ImGui::IsAnyItemActive()) ImGui::SetKeyboardFocusHere();
    const bool entered = type_on("##typed", page.scratch.typed.data(), page.scratch.typed.size());
    ImGui::PopFont();
    ImGui::PopStyleColor(3);
    ImGui::PopItemWidth();
    bool left = false;
    for (const std::string& stroke : page.scratch.strokes)
        left = left || stroke == "escape";
    if (entered || left) typing.reset();
    return entered;
}

// Where a bar's chords stand.
Box chord_field(const Kit& k, const Box& bar, bool behind_letter, float larger) {
    return {bar.x0 + (behind_letter ? k.pt(30) * larger : k.pt(5)), bar.y0 + k.pt(3),
            bar.x1 - k.pt(5), bar.y0 + k.pt(23) * larger};
}

void draw_bar(const Page& page, const Chart& chart, int bar, const ChordLook& look) {
    const Kit& k = page.kit;
    const State& s = page.s;
    const Box b = chart.bar_box(bar, page.scratch.chart_scroll);
    const SecondsRange span = s.draft.bars->bar_span(bar);
    const int place = chart.place(bar) % bars_a_line;
    // A section's letter stands in the margin, or, where it begins inside a line, before the chord.
    const float larger = chart.larger;
    Box letter{b.x0 + k.pt(4), b.y0 + k.pt(2), b.x0 + k.pt(4 + 22 * larger),
               b.y0 + k.pt(2 + 22 * larger)};
    if (place == 0) {
        letter = {b.x0 - k.pt(6 + 30 * larger), b.y0 + k.pt(2), b.x0 - k.pt(6),
                  b.y0 + k.pt(2 + 24 * larger)};
    }
    const auto section = std::find_if(s.draft.form.begin(), s.draft.form.end(),
                                      [&](const Section& one) { return one.first_bar == bar; });
    const bool begins = section != s.draft.form.end();
    const bool inside = begins && place != 0;
    const Box field = chord_field(k, b, inside, larger);
    const auto index = static_cast<std::size_t>(bar - 1);
    if (page.scratch.section_bar == bar) {
        if (typed_here(page, {letter.x0, letter.y0, b.x0 + k.pt(40), letter.y0 + k.pt(22)},
                       page.scratch.section_bar))
            page.ask(intents::SetSection{bar, page.scratch.typed.data()});
    } else if (begins) {
        draw_letter(page, letter, section->letter);
    }
    if (page.scratch.chord_bar == bar) {
        if (typed_here(page, field, page.scratch.chord_bar))
            page.ask(intents::SetChord{bar, 1, page.scratch.typed.data()});
    } else if (bar >= 1 && index < s.draft.chords.size()) {
        draw_chords(page, field, look.font, with_signs(s.draft.chords[index]));
    }
    const float under_chords = k.pt(look.two_rows ? 32 : 27) * larger;
    const Box drawing{b.x0 + k.pt(4), b.y0 + under_chords, b.x1 - k.pt(4), b.y1 - k.pt(13)};
    mini_line(page, drawing, span, chart.rows, larger);
    inked_share(page, {b.x0 + k.pt(4), b.y1 - k.pt(9), b.x1 - k.pt(4), b.y1 - k.pt(5)}, span);
    const float top = b.y0 + k.pt(24) * larger, low = b.y1 - k.pt(11);
    if (place == 0 || bar == chart.first_bar) k.line(b.x0, top, b.x0, low, k.c.ink, 1);
    const bool last = bar == chart.last_bar;
    k.line(b.x1 - (last ? k.pt(4) : 0), top, b.x1 - (last ? k.pt(4) : 0), low, k.c.ink, 1);
    if (last) k.fill({b.x1 - k.pt(2), top, b.x1 + k.pt(1), low}, k.c.ink);
    const auto chorus = std::find(chart.choruses.begin(), chart.choruses.end(), bar);
    if (place == 0 && chorus != chart.choruses.end()) {
        const auto count = static_cast<int>(chorus - chart.choruses.begin()) + 1;
        draw_chorus(page, {chart.box.x0, b.y0, chart.box.x1, letter.y1}, letter, count);
    }
    if (place == 0) {
        k.text_in(k.f.small, {chart.box.x0, top + k.pt(10), b.x0 - k.pt(5), top + k.pt(26)},
                  Align::right, k.c.soft, std::to_string(bar));
        // A section in a key of its own names it.
        if (begins && section->key && section->key != s.draft.key) {
            const std::string key = with_signs(to_text(*section->key));
            const std::string name =
                key.substr(0, key.find(' ')) + (section->key->minor ? "m" : "");
            k.text_in(k.f.small, {chart.box.x0, top + k.pt(22), b.x0 - k.pt(5), top + k.pt(36)},
                      Align::right, k.c.span, name);
        }
    }
    if (span.contains(s.play.at)) {
        const double share = (s.play.at - span.from) / (span.to - span.from);
        const float x = b.x0 + static_cast<float>(share) * b.w();
        k.line(x, top, x, low, k.c.here, 1.5F);
        k.flag(x, top, k.c.here);
    }
}

// When playing comes to another bar, its line is in view, and the loop's lines if they fit.
void follow_playing(const Page& page, const Chart& chart) {
    const State& s = page.s;
    const int bar = s.draft.bars->position_at(s.play.at).bar;
    if (bar == page.scratch.chart_bar) return;
    page.scratch.chart_bar = bar;
    const auto line_of = [&](int b) {
        const int line = chart.place(std::clamp(b, chart.first_bar, chart.last_bar)) / bars_a_line;
        return static_cast<float>(line) * chart.line_height;
    };
    float top = line_of(bar), low = top + chart.line_height;
    if (s.play.loop && s.play.loop->contains(s.play.at)) {
        const float from = line_of(s.draft.bars->position_at(s.play.loop->from).bar);
        const float to = line_of(s.draft.bars->position_at(s.play.loop->to - Seconds(0.02)).bar) +
                         chart.line_height;
        if (to - from <= chart.box.h()) top = from, low = to;
    }
    float& scroll = page.scratch.chart_scroll;
    if (top < scroll) scroll = top;
    if (low > scroll + chart.box.h()) scroll = low - chart.box.h();
    const float most =
        std::max(0.0F, static_cast<float>(chart.lines()) * chart.line_height - chart.box.h());
    scroll = std::clamp(scroll, 0.0F, most);
}

void draw_loop(const Page& page, const Chart& chart, int first, int last) {
    const Kit& k = page.kit;
    for (int bar = std::max(first, chart.first_bar); bar <= std::min(last, chart.last_bar); ++bar) {
        const Box b = chart.bar_box(bar, page.scratch.chart_scroll);
        k.fill({b.x0, b.y0, b.x1, b.y0 + k.pt(3)}, k.c.span);
        if (bar == first) k.fill({b.x0, b.y0, b.x0 + k.pt(2), b.y0 + k.pt(12)}, k.c.span);
        if (bar == last) k.fill({b.x1 - k.pt(2), b.y0, b.x1, b.y0 + k.pt(12)}, k.c.span);
    }
}

void hold_chart(const Page& page, const Chart& chart) {
    const Kit::Touch touch = page.kit.area("chart", chart.box);
    ImGui::SetItemAllowOverlap();
    const ImVec2 mouse = ImGui::GetIO().MousePos;
    int under = 0;
    for (int bar = chart.first_bar; bar <= chart.last_bar; ++bar) {
        if (chart.bar_box(bar, page.scratch.chart_scroll).holds(mouse.x, mouse.y)) under = bar;
    }
    Drag& drag = page.scratch.drag;
    if (touch.hovered) {
        const float most =
            std::max(0.0F, static_cast<float>(chart.lines()) * chart.line_height - chart.box.h());
        page.scratch.chart_scroll = std::clamp(
            page.scratch.chart_scroll - ImGui::GetIO().MouseWheel * chart.line_height * 0.5F, 0.0F,
            most);
    }
    if (touch.twice && mouse.x < chart.box.x0 + chart.margin) {
        const int line = static_cast<int>((mouse.y - chart.box.y0 + page.scratch.chart_scroll) /
                                          chart.line_height);
        const int bar = std::max(
            1, std::max(0, line) * bars_a_line - chart.place(chart.first_bar) + chart.first_bar);
        if (bar >= 1 && bar <= chart.last_bar) page.scratch.section_bar = bar;
        page.scratch.typed.fill('\0');
    } else if (touch.twice && under > 0) {
        page.scratch.chord_bar = under;
        const auto i = static_cast<std::size_t>(under - 1);
        const std::string old = i < page.s.draft.chords.size() ? page.s.draft.chords[i] : "";
        page.scratch.typed.fill('\0');
        old.copy(page.scratch.typed.data(), page.scratch.typed.size() - 1);
    } else if (touch.pressed && under != 0) {
        drag = {Grip::loop,
                Seconds(0),
                Seconds(0),
                static_cast<double>(under),
                static_cast<double>(under),
                {},
                2};
    }
    if (drag.grip != Grip::loop || drag.owner != 2) return;
    if (under != 0) drag.value = under;
    const int first = static_cast<int>(std::min(drag.value, drag.value_from));
    const int last = static_cast<int>(std::max(drag.value, drag.value_from));
    if (first != last) draw_loop(page, chart, first, last);
    if (touch.released) {
        if (first != last) {
            page.ask(intents::LoopBars{first, last});
        } else {
            page.ask(intents::GoTo{page.s.draft.bars->bar_span(first).from});
            if (page.s.pick) page.ask(intents::PickNone{});
        }
        drag = Drag{};
    }
}

// Which part of a long chart is in view.
void draw_rail(const Page& page, const Chart& chart) {
    const float all = static_cast<float>(chart.lines()) * chart.line_height;
    if (all <= chart.box.h() + 1) return;
    const Kit& k = page.kit;
    const float x = page.l.chart.x1 - k.pt(6);
    const float y0 = chart.box.y0 + page.scratch.chart_scroll / all * chart.box.h();
    k.line(x, chart.box.y0, x, chart.box.y1, k.c.rule, 1);
    k.fill({x - k.pt(1.5F), y0, x + k.pt(1.5F), y0 + chart.box.h() / all * chart.box.h()},
           k.c.soft);
}

}  // namespace

void draw_chart(const Page& page) {
    const Kit& k = page.kit;
    const Box& b = page.l.chart;
    k.sheet(b);
    if (!page.s.open || !page.s.draft.bars) {
        draw_without_bars(page, b);
        return;
    }
    const State& s = page.s;
    std::string facts = to_text(s.draft.bars->metre());
    if (s.draft.key) facts = with_signs(to_text(s.draft.keys())) + "  ·  " + facts;
    // Where none was told, the written notes propose one.
    if (!s.draft.key && s.written.score && !s.key_waits)
        facts = with_signs(to_text(s.written.score->key)) + "?  ·  " + facts;
    facts += "  ·  " + std::to_string(std::lround(s.draft.bars->tempo_at(Beats(0)).value())) +
             " beats a minute";
    if (!s.draft.form.empty()) facts += "  ·  " + form_words(s.draft.form);
    k.text_in(k.f.small, {b.x0 + k.pt(14), b.y0 + k.pt(5), b.x1 - k.pt(12), b.y0 + k.pt(25)},
              Align::left, k.c.soft, facts);
    const Box facts_box{b.x0 + k.pt(10), b.y0 + k.pt(4), b.x1 - k.pt(10), b.y0 + k.pt(26)};
    const Kit::Touch facts_touch = k.area("facts", facts_box);
    if (facts_touch.hovered)
        k.line(facts_box.x0, facts_box.y1, facts_box.x1, facts_box.y1, k.c.span, 1.2F);
    if (facts_touch.clicked) page.ask(intents::Show{Overlay::bars});
    Chart chart{{b.x0 + k.pt(6), b.y0 + k.pt(28), b.x1 - k.pt(12), b.y1 - k.pt(4)},
                k.pt(36),
                0,
                1,
                0,
                {},
                {},
                1.0F};
    chart.first_bar = s.draft.bars->pickup() > 0 ? 0 : 1;
    chart.last_bar = last_bar_of(s);
    chart.rows = chart_rows(s);
    chart.choruses = chorus_bars(s.draft.form);
    if (!chart.choruses.empty()) chart.margin += k.pt(16);
    // Lines fill the page as far as their bars keep a shape that reads as bars; what stands on high
    // lines is larger, as far as the type goes.
    const float bar_width = (chart.box.w() - chart.margin) / bars_a_line;
    chart.line_height = std::clamp(chart.box.h() / static_cast<float>(chart.lines()), k.pt(58),
                                   std::max(k.pt(100), 1.4F * bar_width));
    chart.larger = std::clamp(chart.line_height / k.pt(100), 1.0F, 1.25F);
    chart.margin *= chart.larger;
    k.list().PushClipRect(at(chart.box.x0, chart.box.y0), at(chart.box.x1 + k.pt(3), chart.box.y1),
                          true);
    follow_playing(page, chart);
    hold_chart(page, chart);
    ChordLook look;
    for (int bar = chart.first_bar; bar <= chart.last_bar; ++bar) {
        const Box bar_box = chart.bar_box(bar, page.scratch.chart_scroll);
        if (bar_box.y1 < chart.box.y0 || bar_box.y0 > chart.box.y1) continue;
        if (look.font == nullptr || chart.place(bar) % bars_a_line == 0) {
            const int first = bar - chart.place(bar) % bars_a_line;
            look = chord_look(page, first, bars_a_line,
                              chord_field(k, bar_box, false, chart.larger).w(), chart.larger);
        }
        draw_bar(page, chart, bar, look);
    }
    if (s.play.loop && page.scratch.drag.grip != Grip::loop) {
        const int first = s.draft.bars->position_at(s.play.loop->from + Seconds(0.02)).bar;
        const int last = s.draft.bars->position_at(s.play.loop->to - Seconds(0.02)).bar;
        draw_loop(page, chart, first, last);
    }
    k.list().PopClipRect();
    draw_rail(page, chart);
}

}  // namespace bentline::window
