// Letters and chords of the chart.
#include <algorithm>
#include <cmath>

#include "ui/window/chart_words.h"
#include "ui/window/spelling.h"

namespace bentline::window {

void draw_letter(const Page& page, const Box& box, const std::string& letter) {
    const Kit& k = page.kit;
    ImFont* large = box.h() >= k.pt(24) * large_type ? k.f.title : k.f.chord;
    ImFont* font = k.size(large, letter).x < box.w() - k.pt(4) ? large : k.f.small;
    const float wide = std::max({k.pt(22), box.h() - k.pt(2), k.size(font, letter).x + k.pt(6)});
    const Box frame{std::max(box.x0, box.x1 - wide), box.y0, box.x1, box.y1};
    k.frame(frame, k.c.ink, 1.2F);
    k.text_in(font, frame, Align::centre, k.c.ink, letter);
}

void draw_chorus(const Page& page, const Box& line, const Box& letter, int count) {
    const Kit& k = page.kit;
    const float frame = letter.h() + k.pt(2);
    k.text_in(k.f.chord, {line.x0, letter.y0, letter.x1 - frame, letter.y1}, Align::left, k.c.span,
              std::to_string(count));
    if (count > 1) k.line(line.x0, line.y0, line.x1, line.y0, k.c.soft, 1.2F);
}

ChordLook chord_look(const Page& page, int first_bar, int bars, float room, float larger) {
    const Kit& k = page.kit;
    const auto& chords = page.s.draft.chords;
    float widest_large = 0, widest_short = 0, widest = 0;
    for (int bar = std::max(1, first_bar); bar < first_bar + bars; ++bar) {
        const auto index = static_cast<std::size_t>(bar - 1);
        if (index >= chords.size()) break;
        const std::string text = with_signs(chords[index]);
        const float small = k.size(k.f.text, text).x;
        if (small <= room) {
            widest_large = std::max(widest_large, k.size(k.f.title, text).x);
            widest_short = std::max(widest_short, k.size(k.f.chord, text).x);
        }
        widest = std::max(widest, small);
    }
    ImFont* font = widest_short > room ? k.f.text : k.f.chord;
    if (larger >= large_type && widest_large <= room) font = k.f.title;
    return {font, widest > room};
}

void draw_chords(const Page& page, const Box& field, ImFont* font, const std::string& chords) {
    const Kit& k = page.kit;
    if (k.size(font, chords).x <= field.w() + 0.5F)
        return k.text_in(font, field, Align::left, k.c.ink, chords);
    // Broken at the space nearest to the middle.
    std::size_t cut = std::string::npos;
    const auto off = [&](std::size_t at) {
        return std::abs(static_cast<double>(at) - 0.5 * static_cast<double>(chords.size()));
    };
    for (std::size_t at = chords.find(' '); at != std::string::npos; at = chords.find(' ', at + 1))
        if (cut == std::string::npos || off(at) < off(cut)) cut = at;
    if (cut == std::string::npos) return k.text_in(k.f.small, field, Align::left, k.c.ink, chords);
    const float middle = field.mid_y() + k.pt(0.5F);
    k.text_in(k.f.small, {field.x0, middle - k.pt(12), field.x1, middle}, Align::left, k.c.ink,
              chords.substr(0, cut));
    k.text_in(k.f.small, {field.x0, middle, field.x1, middle + k.pt(12)}, Align::left, k.c.ink,
              chords.substr(cut + 1));
}

}  // namespace bentline::window
