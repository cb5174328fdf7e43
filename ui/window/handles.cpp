// What the mouse can take hold of: areas, words, rulers.
#include <algorithm>
#include <cmath>
#include <cstring>
#include <string>

#include "engine/draft/byte_text.h"
#include "ui/window/kit.h"

namespace bentline::window {
namespace {

double share_of(const Ruler& r, double value) {
    if (r.by_ratio) return std::log(value / r.low) / std::log(r.high / r.low);
    return (value - r.low) / (r.high - r.low);
}

double value_at(const Ruler& r, double share) {
    share = std::clamp(share, 0.0, 1.0);
    if (r.by_ratio) return r.low * std::pow(r.high / r.low, share);
    return r.low + share * (r.high - r.low);
}

}  // namespace

void Kit::make_typable(char* text) {
    if (is_utf8(text)) return;
    for (char* at = text; *at != '\0';) {
        // A letter takes up to four bytes (RFC 3629).
        std::size_t bytes = 1;
        while (bytes <= 4 && !is_utf8(std::string(at, strnlen(at, bytes))))
            ++bytes;
        if (bytes > 4 || strnlen(at, bytes) < bytes) {
            *at = '_';
            bytes = 1;
        }
        at += bytes;
    }
}

Kit::Touch Kit::area(const char* id, const Box& box) const {
    ImGui::SetCursorScreenPos(at(box.x0, box.y0));
    Touch touch;
    touch.clicked =
        ImGui::InvisibleButton(id, at(std::max(1.0F, box.w()), std::max(1.0F, box.h())));
    touch.pressed = ImGui::IsItemActivated();
    touch.hovered = ImGui::IsItemHovered();
    touch.held = ImGui::IsItemActive();
    touch.released = ImGui::IsItemDeactivated();
    touch.twice = touch.hovered && ImGui::IsMouseDoubleClicked(ImGuiMouseButton_Left);
    return touch;
}

bool Kit::word(const char* id, const Box& box, std::string_view label, std::string_view key,
               bool chosen, bool able, Align align) const {
    const Touch touch = able ? area(id, box) : Touch{};
    const Colour ink = chosen ? c.span : able ? c.ink : c.soft;
    if (touch.hovered) fill(box, c.shade);
    ImFont* font = chosen ? f.strong : f.text;
    const float label_width = size(font, label).x;
    const float key_width = key.empty() ? 0 : size(f.small, key).x;
    const float both = label_width + (key.empty() ? 0 : key_width + pt(6));
    const bool list = align == Align::left;
    const float x = list ? box.x0 + pt(6) : std::max(box.x0, box.mid_x() - both / 2);
    const float key_x = list ? box.x1 - pt(6) - key_width : x + label_width + pt(6);
    text_in(font, {x, box.y0, std::min(x + label_width + 1, box.x1), box.y1}, Align::left, ink,
            label);
    if (!key.empty()) {
        const float y = beside(font, box.mid_y() - font->FontSize / 2, f.small);
        text_in(f.small, {key_x, y, box.x1, y + f.small->FontSize}, Align::left, c.soft, key);
    }
    const float under = box.y1 - pt(3);
    // In a list the line runs from the word to its key, so that both keep to their columns.
    const float in = list ? pt(6) : 0;
    if (touch.hovered || chosen) line(box.x0 + in, under, box.x1 - in, under, ink, 1.5F);
    return touch.clicked;
}

std::optional<double> Kit::ruler(const char* id, const Box& box, const Ruler& r) const {
    // The line runs from under the label's first letter to under the value's last; a rider at an
    // end reaches beyond both, and is taken hold of there, too.
    const Touch touch = area(id, {box.x0 - pt(6), box.y0, box.x1 + pt(6), box.y1});
    const float value_y = box.y0 + pt(8) - f.strong->FontSize / 2;
    const float label_y = beside(f.strong, value_y, f.small);
    text_in(f.small, {box.x0, label_y, box.x0 + box.w() * 0.5F, label_y + f.small->FontSize},
            Align::left, c.soft, r.label);
    text_in(f.strong, {box.x0 + box.w() * 0.4F, value_y, box.x1, value_y + f.strong->FontSize},
            Align::right, c.ink, r.value);
    if (r.chosen) fill({box.x0 - pt(9), box.y0, box.x0 - pt(6), box.y0 + pt(17)}, c.span);
    const float x0 = box.x0, x1 = box.x1, y = box.y0 + pt(38);
    const auto x_of = [&](double share) {
        return x0 + static_cast<float>(std::clamp(share, 0.0, 1.0)) * (x1 - x0);
    };
    line(x0, y, x1, y, c.soft, 1);
    for (int i = 0; i <= r.ticks; ++i) {
        const double value = r.low + (r.high - r.low) * i / r.ticks;
        const float x = x_of(share_of(r, value));
        line(x, y, x, y + pt(i % 5 == 0 ? 7.0F : 4.0F), c.soft, 1);
    }
    const float home = x_of(share_of(r, r.home));
    list_->AddCircleFilled(at(home, y + pt(11)), pt(1.8F), c.soft);
    const float rider = x_of(share_of(r, r.now));
    const Colour colour = touch.held ? c.here : c.span;
    const float grow = touch.hovered || touch.held ? 1.5F : 0.0F;
    list_->AddTriangleFilled(at(rider, y), at(rider - pt(6 + grow), y - pt(11 + grow)),
                             at(rider + pt(6 + grow), y - pt(11 + grow)), colour);
    if (touch.twice) return r.home;
    if (!touch.held) return std::nullopt;
    const double share = static_cast<double>((ImGui::GetIO().MousePos.x - x0) / (x1 - x0));
    const double value = value_at(r, share);
    return value == r.now ? std::nullopt : std::optional(value);
}

}  // namespace bentline::window
