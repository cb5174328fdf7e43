// What is drawn in a bar of the chart: its pitch line, small, and how much of it is inked.
#include <algorithm>
#include <cmath>
#include <optional>

#include "ui/window/chart_words.h"

namespace bentline::window {

void mini_line(const Page& page, const Box& box, SecondsRange bar, Range<int> rows, float larger) {
    const State& s = page.s;
    const Kit& k = page.kit;
    if (!s.heard.line) {
        // Without the recording: the notes themselves.
        const Range<std::size_t> notes = s.draft.notes.within(bar);
        for (std::size_t i = notes.from; i < notes.to; ++i) {
            const Note& n = s.draft.notes[i].note;
            const double scale = box.w() / (bar.to - bar.from).value();
            const float x0 = box.x0 + static_cast<float>((n.onset - bar.from).value() * scale);
            const float x1 = std::min(
                box.x1, box.x0 + static_cast<float>((n.offset - bar.from).value() * scale));
            const float y = box.y1 - box.h() * static_cast<float>(n.key.value() - rows.from) /
                                         static_cast<float>(std::max(1, rows.to - rows.from));
            k.line(x0, y, x1, y, k.c.ink, 2 * larger);
        }
        return;
    }
    const PitchCurve& line = *s.heard.line;
    const double points = (bar.to - bar.from) / line.hop;
    const double first = (bar.from - line.start) / line.hop;
    const int steps = std::clamp(static_cast<int>(points), 2, 48);
    std::optional<ImVec2> before;
    for (int i = 0; i <= steps; ++i) {
        const double index = first + points * i / steps;
        if (index < 0 || index >= static_cast<double>(line.points.size())) continue;
        const PitchPoint& p = line.points[static_cast<std::size_t>(index)];
        if (!p.f0) {
            before.reset();
            continue;
        }
        const double key = pitch_of(*p.f0, line.tuning).value();
        const float y = box.y1 - box.h() * static_cast<float>((key - rows.from) /
                                                              std::max(1, rows.to - rows.from));
        const ImVec2 now(box.x0 + box.w() * static_cast<float>(i) / static_cast<float>(steps),
                         std::clamp(y, box.y0, box.y1));
        if (before && std::abs(now.y - before->y) < 0.3F * box.h()) {
            k.line(before->x, before->y, now.x, now.y, k.c.ink, 1.3F * larger);
        }
        before = now;
    }
}

void inked_share(const Page& page, const Box& box, SecondsRange bar) {
    const Range<std::size_t> notes = page.s.draft.notes.within(bar);
    const std::size_t all = notes.to - notes.from;
    if (all == 0) return;
    std::size_t inked = 0;
    for (std::size_t i = notes.from; i < notes.to; ++i)
        inked += page.s.draft.notes[i].inked() ? 1 : 0;
    const float x = box.x0 + box.w() * static_cast<float>(inked) / static_cast<float>(all);
    const Kit& k = page.kit;
    if (inked > 0) k.fill({box.x0, box.y0, x, box.y0 + k.pt(3.5F)}, k.c.ink);
    if (inked < all)
        k.dashed(x + k.pt(2), box.y0 + k.pt(1.75F), box.x1, box.y0 + k.pt(1.75F), k.c.pencil, 1.2F,
                 3);
}

}  // namespace bentline::window
