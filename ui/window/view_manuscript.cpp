// The manuscript: the looped bars as staff and tablature, in time with the bench above it.
#include <algorithm>
#include <array>
#include <cmath>

#include "engine/export/engraving/line.h"
#include "ui/window/page.h"

namespace bentline::window {
namespace {

namespace en = engraving;

// From engraved spaces to pixels.
struct Sheet {
    const Page& page;
    const Axes& axes;
    float x0;       // of engraved x 0
    float x_scale;  // pixels a space, sideways: other than `space` while the zoom is under way
    float space;    // pixels

    float x(double spaces) const { return x0 + static_cast<float>(spaces) * x_scale; }
    float length(double spaces) const { return static_cast<float>(spaces) * space; }
};

void ink_glyph(const Page& page, en::Glyph glyph, float x, float y, double scale, float space,
               Colour colour) {
    const MusicType& type = page.scratch.fonts.music;
    const ImFontGlyph* found =
        type.font->FindGlyphNoFallback(type.codes[static_cast<std::size_t>(glyph)]);
    if (found == nullptr) return;
    const float s = space / type.space * static_cast<float>(scale);
    const float top = std::round(type.font->Ascent);
    ImDrawList& list = page.kit.list();
    list.PrimReserve(6, 4);
    list.PrimRectUV(at(x + found->X0 * s, y + (found->Y0 - top) * s),
                    at(x + found->X1 * s, y + (found->Y1 - top) * s), at(found->U0, found->V0),
                    at(found->U1, found->V1), colour);
}

void ink_text(const Page& page, const en::TextShape& text, float x, float y, float space,
              Colour colour) {
    const MusicType::Face& face =
        page.scratch.fonts.music.faces[static_cast<std::size_t>(text.face)];
    const float pixels = face.font->FontSize * static_cast<float>(text.size) * space / face.em;
    const float up = face.font->Ascent * pixels / face.font->FontSize;
    page.kit.list().AddText(face.font, pixels, at(x, y - up), colour, text.text.data(),
                            text.text.data() + text.text.size());
}

void ink(const Sheet& sheet, const en::Mark& mark, float y0, Colour colour) {
    ImDrawList& list = sheet.page.kit.list();
    const auto y = [&](double spaces) { return y0 + sheet.length(spaces); };
    const float hair = sheet.page.kit.pt(0.8F);
    if (const auto* glyph = std::get_if<en::GlyphShape>(&mark.shape)) {
        ink_glyph(sheet.page, glyph->glyph, sheet.x(glyph->at.x), y(glyph->at.y), glyph->scale,
                  sheet.space, colour);
    } else if (const auto* line = std::get_if<en::LineShape>(&mark.shape)) {
        list.AddLine(at(sheet.x(line->from.x), y(line->from.y)),
                     at(sheet.x(line->to.x), y(line->to.y)), colour,
                     std::max(hair, sheet.length(line->thickness)));
    } else if (const auto* curve = std::get_if<en::CurveShape>(&mark.shape)) {
        list.AddBezierCubic(
            at(sheet.x(curve->a.x), y(curve->a.y)), at(sheet.x(curve->b.x), y(curve->b.y)),
            at(sheet.x(curve->c.x), y(curve->c.y)), at(sheet.x(curve->d.x), y(curve->d.y)), colour,
            std::max(hair, sheet.length(curve->thickness + 0.5 * curve->swelling)));
    } else if (const auto* fill = std::get_if<en::FilledShape>(&mark.shape)) {
        // The toolkit softens the edges of what is drawn clockwise only.
        const std::vector<en::Point>& all = fill->corners;
        double turns = 0;
        for (std::size_t i = 0; i < all.size(); ++i) {
            const en::Point &a = all[i], &b = all[(i + 1) % all.size()];
            turns += a.x * b.y - b.x * a.y;
        }
        for (std::size_t i = 0; i < all.size(); ++i) {
            const en::Point& corner = all[turns < 0 ? all.size() - 1 - i : i];
            list.PathLineTo(at(sheet.x(corner.x), y(corner.y)));
        }
        list.PathFillConvex(colour);
    } else if (const auto* text = std::get_if<en::TextShape>(&mark.shape)) {
        ink_text(sheet.page, *text, sheet.x(text->at.x), y(text->at.y), sheet.space, colour);
    }
}

// The signs of a key from x on, in the usual order and at the usual heights (common practice);
// `cancelled`: as naturals. The right end.
float draw_key_signs(const Page& page, float x, float staff_y, float space, int fifths,
                     bool cancelled = false) {
    constexpr std::array<float, 7> sharps{-2.0F, -0.5F, -2.5F, -1.0F, 0.5F, -1.5F, 0.0F};
    constexpr std::array<float, 7> flats{0.0F, -1.5F, 0.5F, -1.0F, 1.0F, -0.5F, 1.5F};
    const en::Glyph sign = cancelled    ? en::Glyph::natural
                           : fifths > 0 ? en::Glyph::sharp
                                        : en::Glyph::flat;
    for (int i = 0; i < std::min(7, std::abs(fifths)); ++i) {
        const auto n = static_cast<std::size_t>(i);
        ink_glyph(page, sign, x, staff_y + space * (fifths > 0 ? sharps[n] : flats[n]), 1, space,
                  page.kit.c.ink);
        x += 1.05F * space;
    }
    return x;
}

// Clef and key, and the letters of the tablature, at the left where they stay.
void draw_signature(const Page& page, float staff_y, float tab_y, float space, int strings,
                    int fifths) {
    const Kit& k = page.kit;
    const Box& b = page.l.signature;
    const float x0 = b.x0 + k.pt(12);
    for (int i = -2; i <= 2; ++i) {
        const float y = staff_y + space * static_cast<float>(i);
        k.line(x0, y, b.x1, y, k.c.soft, 0.8F);
    }
    for (int i = 0; i < strings; ++i) {
        const float y = tab_y + space * 1.45F * static_cast<float>(i);
        k.line(x0, y, b.x1, y, k.c.rule, 1);
    }
    k.line(x0, staff_y - 2 * space, x0,
           tab_y + space * 1.45F * static_cast<float>(std::max(0, strings - 1)), k.c.soft, 1.2F);
    ink_glyph(page, en::Glyph::clef_g, x0 + k.pt(5), staff_y + space, 1, space, k.c.ink);
    // It sounds an octave lower than written.
    k.text(k.f.small, x0 + k.pt(9), staff_y + 3.6F * space, k.c.soft, "8");
    draw_key_signs(page, x0 + k.pt(5) + 3.3F * space, staff_y, space, fifths);
    const float middle = tab_y + space * 1.45F * 0.5F * static_cast<float>(strings - 1);
    float y = middle - k.pt(22);
    for (const char* letter : {"T", "A", "B"}) {
        k.text(k.f.strong, x0 + k.pt(9), y, k.c.soft, letter);
        y += k.pt(14);
    }
}

// A new signature stands before its double bar line, as at the end of a printed line, if the last
// head leaves it room: behind the line stands music.
void draw_key_changes(const Page& page, const Axes& axes, const Sheet& sheet,
                      const ManuscriptLine& line, float staff_y) {
    const State& s = page.s;
    if (!s.written.score) return;
    const Score& score = *s.written.score;
    for (std::size_t m = 1; m < score.measures.size(); ++m) {
        const Seconds at = score.measures[m].from;
        if (at <= s.look.from || at >= s.look.to + Seconds(1)) continue;
        const int before = key_at(score, m - 1).fifths, now = key_at(score, m).fifths;
        if (before == now) continue;
        float bar_line = axes.x(at), last = axes.box.x0;
        for (const en::Mark& mark : line.staff) {
            const float right = sheet.x(mark.box.right);
            if (mark.part == en::Part::bar_line && std::abs(right - bar_line) < 3 * sheet.space)
                bar_line = std::min(bar_line, sheet.x(mark.box.left));
        }
        for (const en::Mark& mark : line.staff) {
            if (mark.part != en::Part::head && mark.part != en::Part::rest) continue;
            const float right = sheet.x(mark.box.right);
            if (right < bar_line) last = std::max(last, right);
        }
        const int signs = std::min(7, std::abs(now != 0 ? now : before));
        const float left = bar_line - (1.05F * static_cast<float>(signs) + 0.4F) * sheet.space;
        if (left < last + 0.4F * sheet.space) continue;
        draw_key_signs(page, left, staff_y, sheet.space, now != 0 ? now : before, now == 0);
    }
}

// Before the first written bar the lines run on from the clef.
void draw_bare_lines(const Sheet& sheet, const ManuscriptLine& line, float staff_y, float tab_y,
                     int strings) {
    const Kit& k = sheet.page.kit;
    const Box& b = sheet.page.l.manuscript;
    float left = b.x1;
    for (const en::Mark& mark : line.staff)
        if (mark.part == en::Part::staff_line) left = std::min(left, sheet.x(mark.box.left));
    if (left <= b.x0) return;
    for (int i = -2; i <= 2; ++i) {
        const float y = staff_y + sheet.space * static_cast<float>(i);
        k.line(b.x0, y, left, y, k.c.soft, 0.8F);
    }
    for (int i = 0; i < strings; ++i) {
        const float y = tab_y + sheet.length(en::tab_gap) * static_cast<float>(i);
        k.line(b.x0, y, left, y, k.c.rule, 1);
    }
}

const en::Mark* under_mouse(const Sheet& sheet, const std::vector<en::Mark>& marks, float y0) {
    const ImVec2 mouse = ImGui::GetIO().MousePos;
    const float air = sheet.page.kit.pt(3);
    for (const en::Mark& mark : marks) {
        if (!mark.note || (mark.part != en::Part::fret && mark.part != en::Part::head)) continue;
        const Box box{sheet.x(mark.box.left) - air, y0 + sheet.length(mark.box.top) - air,
                      sheet.x(mark.box.right) + air, y0 + sheet.length(mark.box.bottom) + air};
        if (box.holds(mouse.x, mouse.y)) return &mark;
    }
    return nullptr;
}

// A press on a fret takes the note to its next string; with Shift, to any; on a head it picks.
void hold_manuscript(const Page& page, const Sheet& sheet, const ManuscriptLine& line,
                     float staff_y, float tab_y) {
    const Kit& k = page.kit;
    const Kit::Touch touch = k.area("manuscript", page.l.manuscript);
    if (!touch.hovered && !touch.clicked) return;
    const en::Mark* fret = under_mouse(sheet, line.tab, tab_y);
    const en::Mark* head = fret == nullptr ? under_mouse(sheet, line.staff, staff_y) : nullptr;
    const en::Mark* mark = fret != nullptr ? fret : head;
    if (mark == nullptr) {
        if (touch.clicked) page.ask(intents::GoTo{sheet.axes.time(ImGui::GetIO().MousePos.x)});
        return;
    }
    ImGui::SetMouseCursor(ImGuiMouseCursor_Hand);
    page.scratch.hovered = *mark->note;
    if (!touch.clicked) return;
    page.ask(intents::Pick{mark->note->value});
    if (fret == nullptr) return;
    if (ImGui::GetIO().KeyShift) {
        page.ask(intents::AnyString{});
    } else {
        page.ask(intents::StepString{1});
    }
}

}  // namespace

void draw_manuscript(const Page& page) {
    const Kit& k = page.kit;
    const State& s = page.s;
    const Box& b = page.l.manuscript;
    const MusicType& type = page.scratch.fonts.music;
    k.line(page.l.bench.x0 + k.pt(10), b.y0 - k.pt(1), b.x1, b.y0 - k.pt(1), k.c.rule, 1);
    const auto instead = [&](const std::string& words) {
        k.text_in(k.f.small, {b.x0, b.y0, b.x1, b.y1}, Align::centre, k.c.soft, words);
    };
    if (type.font == nullptr)
        return instead("The music type for the manuscript is not installed (lilypond-fonts).");
    const Axes axes{b, s.look, s.rows};
    const float space = page.l.space;
    const Seconds beat = beat_length(s.draft.bars->tempo_at(s.draft.bars->beats_at(s.look.from)));
    const float beat_width = axes.pixels_a_second() * static_cast<float>(beat.value());
    if (beat_width < 4.2F * space) {
        return draw_swell(page, axes);
    }
    const ManuscriptRoom& room = s.manuscript_room;
    const float spare =
        std::max(0.0F, b.h() - k.pt(manuscript_needs(s)) * space / k.pt(staff_space));
    const float staff_y = b.y0 + static_cast<float>(room.above) * space + 0.5F * spare;
    const int strings = s.manuscript ? s.manuscript->strings : s.draft.neck.strings();
    const float tab_height =
        space * static_cast<float>(en::tab_gap) * static_cast<float>(strings - 1);
    const float tab_y = std::min(staff_y + static_cast<float>(room.between) * space,
                                 std::max(staff_y + 4.6F * space, b.y1 - tab_height - k.pt(5)));
    const std::optional<Key> in = shown_key(s, s.look.from);
    const int fifths = in ? in->fifths : 0;
    k.list().PushClipRect(at(page.l.signature.x0, b.y0), at(b.x1, b.y1), true);
    draw_signature(page, staff_y, tab_y, space, strings, fifths);
    k.list().PopClipRect();
    if (!s.manuscript) return;
    const ManuscriptLine& line = *s.manuscript;
    k.list().PushClipRect(at(b.x0, b.y0), at(b.x1, b.y1), true);
    const Sheet sheet{page, axes, axes.x(line.from),
                      axes.pixels_a_second() / static_cast<float>(line.spaces_a_second), space};
    hold_manuscript(page, sheet, line, staff_y, tab_y);
    const auto draw_marks = [&](const std::vector<en::Mark>& marks, float y0) {
        for (const en::Mark& mark : marks) {
            if (sheet.x(mark.box.right) < b.x0 || sheet.x(mark.box.left) > b.x1) continue;
            if (stands_elsewhere(mark)) continue;
            Colour colour = k.c.ink;
            if (mark.part == en::Part::staff_line) colour = k.c.soft;
            if (mark.part == en::Part::tab_line) colour = k.c.rule;
            const DraftNote* note = mark.note ? s.draft.notes.find(*mark.note) : nullptr;
            if (note != nullptr && !note->inked()) colour = k.c.pencil;
            if (note != nullptr && s.pick == note->id) colour = k.c.here;
            ink(sheet, mark, y0, colour);
            if (mark.part == en::Part::fret && note != nullptr && note->pin) {
                // A pinned fret stands on a short line.
                const float y = y0 + sheet.length(mark.box.bottom) + k.pt(1.5F);
                k.line(sheet.x(mark.box.left) - k.pt(1), y, sheet.x(mark.box.right) + k.pt(1), y,
                       k.c.span, 1.6F);
            }
        }
    };
    draw_bare_lines(sheet, line, staff_y, tab_y, strings);
    draw_marks(line.staff, staff_y);
    draw_marks(line.tab, tab_y);
    draw_key_changes(page, axes, sheet, line, staff_y);
    const float x = axes.x(s.play.at);
    k.line(x, b.y0, x, b.y1, k.c.here, 1.6F);
    k.list().PopClipRect();
}

}  // namespace bentline::window
