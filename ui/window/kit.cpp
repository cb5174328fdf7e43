// Text, surfaces and signs.
#include "ui/window/kit.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace bentline::window {

namespace {

// Letters of a text (UTF-8) beyond Latin that a font has not loaded. What has more than 16 bits is
// left out: the toolkit does not know it.
void look_for_unknown(const ImFont& font, std::string_view text, std::set<char16_t>& unknown) {
    for (std::size_t i = 0; i < text.size(); ++i) {
        const auto byte = static_cast<unsigned char>(text[i]);
        const int more = byte < 0xC4 ? 0 : byte < 0xE0 ? 1 : byte < 0xF0 ? 2 : 3;
        if (more == 0 || more == 3 || i + static_cast<std::size_t>(more) >= text.size()) continue;
        unsigned code = byte & (more == 1 ? 0x1FU : 0x0FU);
        for (int j = 0; j < more; ++j)
            code = code << 6 | (static_cast<unsigned char>(text[++i]) & 0x3FU);
        if (font.FindGlyphNoFallback(static_cast<ImWchar>(code)) == nullptr)
            unknown.insert(static_cast<char16_t>(code));
    }
}

}  // namespace

ImVec2 Kit::size(ImFont* font, std::string_view text) const {
    return font->CalcTextSizeA(font->FontSize, 1e9F, 0.0F, text.data(), text.data() + text.size());
}

float Kit::beside(ImFont* font, float y, ImFont* other) const {
    return std::round(y) + font->Ascent - other->Ascent;
}

void Kit::learn(ImFont* font, std::string_view text) const {
    look_for_unknown(*font, text, scratch_.unknown);
}

void Kit::text(ImFont* font, float x, float y, Colour colour, std::string_view text) const {
    look_for_unknown(*font, text, scratch_.unknown);
    if (scratch_.texts) {
        const ImVec2 extent = size(font, text);
        scratch_.texts->all.push_back(
            {{x, y, x + extent.x, y + extent.y}, colour, std::string(text)});
        return;
    }
    list_->AddText(font, font->FontSize, at(std::round(x), std::round(y)), colour, text.data(),
                   text.data() + text.size());
}

void Kit::text_in(ImFont* font, const Box& box, Align align, Colour colour,
                  std::string_view text) const {
    std::string shown(text);
    ImVec2 extent = size(font, shown);
    if (extent.x > box.w() + 0.5F) {
        scratch_.shortened.emplace_back(text);
        while (!shown.empty() && size(font, shown + "…").x > box.w()) {
            do
                shown.pop_back();
            while (!shown.empty() && (static_cast<unsigned char>(shown.back()) & 0xC0U) == 0x80U);
            // The first byte of a sign of several bytes goes with the rest of it.
            if (!shown.empty() && (static_cast<unsigned char>(shown.back()) & 0xC0U) == 0xC0U) {
                shown.pop_back();
            }
        }
        shown += "…";
        extent = size(font, shown);
    }
    const float x = align == Align::left     ? box.x0
                    : align == Align::centre ? box.mid_x() - extent.x / 2
                                             : box.x1 - extent.x;
    this->text(font, x, box.mid_y() - extent.y / 2, colour, shown);
}

void Kit::text_over(ImFont* font, float x, float y, Colour colour, std::string_view words) const {
    const ImVec2 extent = size(font, words);
    fill({x - pt(1.5F), y + pt(1), x + extent.x + pt(1.5F), y + extent.y},
         with_alpha(c.paper, 205));
    text(font, x, y, colour, words);
}

float Kit::paragraph(ImFont* font, const Box& box, Colour colour, std::string_view text) const {
    float y = box.y0;
    const char* at_char = text.data();
    const char* end = at_char + text.size();
    while (at_char < end) {
        const char* stop = font->CalcWordWrapPositionA(1.0F, at_char, end, box.w());
        stop = std::find(at_char, stop, '\n');
        if (stop == at_char) ++stop;
        this->text(font, box.x0, y, colour, {at_char, static_cast<std::size_t>(stop - at_char)});
        y += font->FontSize * 1.25F;
        at_char = stop;
        while (at_char < end && (*at_char == ' ' || *at_char == '\n'))
            ++at_char;
    }
    return y;
}

void Kit::sheet(const Box& box) const {
    const Box shadow{box.x0 + pt(1), box.y0 + pt(2), box.x1 + pt(2), box.y1 + pt(3)};
    list_->AddRectFilled(at(shadow.x0, shadow.y0), at(shadow.x1, shadow.y1), with_alpha(c.ink, 18),
                         pt(2));
    list_->AddRectFilled(at(box.x0, box.y0), at(box.x1, box.y1), c.paper, pt(2));
    list_->AddRect(at(box.x0, box.y0), at(box.x1, box.y1), c.rule, pt(2));
}

void Kit::fill(const Box& box, Colour colour) const {
    list_->AddRectFilled(at(box.x0, box.y0), at(box.x1, box.y1), colour);
}

void Kit::line(float x0, float y0, float x1, float y1, Colour colour, float points) const {
    list_->AddLine(at(x0, y0), at(x1, y1), colour, pt(points));
}

void Kit::frame(const Box& box, Colour colour, float points) const {
    list_->AddRect(at(box.x0, box.y0), at(box.x1, box.y1), colour, pt(2), 0, pt(points));
}

void Kit::dashed(float x0, float y0, float x1, float y1, Colour colour, float points,
                 float dash) const {
    const float length = std::hypot(x1 - x0, y1 - y0);
    if (!(length > 0) || !std::isfinite(length)) return;
    const float step = pt(dash), ux = (x1 - x0) / length, uy = (y1 - y0) / length;
    // Dashes that lie out of sight are not drawn; those in sight stay where they are.
    const ImVec2 low = list_->GetClipRectMin(), high = list_->GetClipRectMax();
    float from = 0, to = length;
    const auto within = [&](float start, float rise, float least, float most) {
        if (std::abs(rise) < 1e-6F) {
            if (start < least || start > most) to = -1;
            return;
        }
        const float a = (least - start) / rise, b = (most - start) / rise;
        from = std::max(from, std::min(a, b));
        to = std::min(to, std::max(a, b));
    };
    within(x0, ux, low.x - pt(points), high.x + pt(points));
    within(y0, uy, low.y - pt(points), high.y + pt(points));
    if (from > to) return;
    const float first = std::floor(from / (2 * step)), last = std::ceil(to / (2 * step));
    for (int i = 0; i < static_cast<int>(last - first) + 1; ++i) {
        const float d = (first + static_cast<float>(i)) * 2 * step;
        const float e = std::min(length, d + step);
        if (d < e) line(x0 + ux * d, y0 + uy * d, x0 + ux * e, y0 + uy * e, colour, points);
    }
}

void Kit::dashed_frame(const Box& b, Colour colour, float points) const {
    dashed(b.x0, b.y0, b.x1, b.y0, colour, points);
    dashed(b.x0, b.y1, b.x1, b.y1, colour, points);
    line(b.x0, b.y0, b.x0, b.y1, colour, points);
    line(b.x1, b.y0, b.x1, b.y1, colour, points);
}

void Kit::bracket(float x0, float x1, float y, float drop, Colour colour) const {
    list_->AddRectFilled(at(x0, y), at(x1, y + pt(3)), colour);
    list_->AddRectFilled(at(x0, y), at(x0 + pt(2), y + drop), colour);
    list_->AddRectFilled(at(x1 - pt(2), y), at(x1, y + drop), colour);
}

void Kit::wave(float x0, float x1, float y, float height, Colour colour) const {
    // About a cycle for each seven points, whole cycles, eight points of the curve a cycle; only
    // the cycles in sight.
    const float cycles = std::max(1.0F, std::floor((x1 - x0) / pt(7)));
    const float cycle = (x1 - x0) / cycles;
    if (!(cycle > 0) || !std::isfinite(cycle)) return;
    const float low = list_->GetClipRectMin().x, high = list_->GetClipRectMax().x;
    const float first = std::clamp(std::floor((low - x0) / cycle), 0.0F, cycles);
    const float last = std::clamp(std::ceil((high - x0) / cycle), first, cycles);
    const int steps = static_cast<int>(last - first) * 8;
    if (steps == 0) return;
    list_->PathClear();
    for (int i = 0; i <= steps; ++i) {
        const float turn = first + static_cast<float>(i) / 8;
        list_->PathLineTo(at(x0 + turn * cycle, y - 0.5F * height * std::sin(turn * 6.2831853F)));
    }
    list_->PathStroke(colour, 0, pt(1.4F));
}

void Kit::arrow(float x0, float y0, float x1, float y1, Colour colour, float points) const {
    const float length = std::max(1e-3F, std::hypot(x1 - x0, y1 - y0));
    const float ux = (x1 - x0) / length, uy = (y1 - y0) / length, head = pt(6);
    line(x0, y0, x1 - ux * head * 0.7F, y1 - uy * head * 0.7F, colour, points);
    list_->AddTriangleFilled(
        at(x1, y1), at(x1 - ux * head - uy * head * 0.45F, y1 - uy * head + ux * head * 0.45F),
        at(x1 - ux * head + uy * head * 0.45F, y1 - uy * head - ux * head * 0.45F), colour);
}

void Kit::bend_arrow(float x0, float y0, float x1, float y1, Colour colour) const {
    const float up = y1 < y0 ? 1.0F : -1.0F, head = pt(6);
    const float tail = y1 + up * head * 0.8F;
    list_->AddBezierCubic(at(x0, y0), at(x0 + 0.75F * (x1 - x0), y0),
                          at(x1, y0 + 0.35F * (tail - y0)), at(x1, tail), colour, pt(1.5F));
    list_->AddTriangleFilled(at(x1, y1), at(x1 - head * 0.5F, y1 + up * head),
                             at(x1 + head * 0.5F, y1 + up * head), colour);
}

void Kit::flag(float x, float y, Colour colour) const {
    list_->AddTriangleFilled(at(x, y), at(x + pt(9), y + pt(4.5F)), at(x, y + pt(9)), colour);
}

void Kit::play_sign(const Box& box, bool playing, Colour colour) const {
    if (playing) {
        const float w = box.w() * 0.34F;
        fill({box.x0, box.y0, box.x0 + w, box.y1}, colour);
        fill({box.x1 - w, box.y0, box.x1, box.y1}, colour);
    } else {
        list_->AddTriangleFilled(at(box.x0, box.y0), at(box.x1, box.mid_y()), at(box.x0, box.y1),
                                 colour);
    }
}

}  // namespace bentline::window
