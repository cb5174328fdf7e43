// The pitch line in ink: thicker where louder, one even stroke from where a sound begins to where
// it ends.
#include <algorithm>
#include <cmath>
#include <span>
#include <vector>

#include "ui/window/page.h"

namespace bentline::window {
namespace {

struct Nib {
    float x, y;
    float half;  // of the width
    unsigned alpha;
};

// A stroke through the points with edges that fade over a pixel. Segments of an ordinary polyline
// would overlap at every joint and show it.
void stroke(ImDrawList& list, std::span<const Nib> line, Colour colour) {
    if (line.size() < 2) return;
    const auto count = static_cast<unsigned>(line.size());
    list.PrimReserve(static_cast<int>(18 * (count - 1)), static_cast<int>(4 * count));
    const ImVec2 uv = ImGui::GetFontTexUvWhitePixel();
    const unsigned first = list._VtxCurrentIdx;
    for (std::size_t i = 0; i < line.size(); ++i) {
        const Nib& before = line[i == 0 ? 0 : i - 1];
        const Nib& after = line[std::min(i + 1, line.size() - 1)];
        const float dx = after.x - before.x, dy = after.y - before.y;
        const float length = std::max(1e-3F, std::hypot(dx, dy));
        const float nx = -dy / length, ny = dx / length;
        const Nib& p = line[i];
        const float in = std::max(0.0F, p.half - 0.5F), out = p.half + 0.5F;
        const Colour full = with_alpha(colour, p.alpha), none = with_alpha(colour, 0);
        list.PrimWriteVtx(at(p.x - nx * out, p.y - ny * out), uv, none);
        list.PrimWriteVtx(at(p.x - nx * in, p.y - ny * in), uv, full);
        list.PrimWriteVtx(at(p.x + nx * in, p.y + ny * in), uv, full);
        list.PrimWriteVtx(at(p.x + nx * out, p.y + ny * out), uv, none);
    }
    for (unsigned i = 0; i + 1 < count; ++i) {
        for (unsigned lane = 0; lane < 3; ++lane) {
            const unsigned a = first + 4 * i + lane, b = a + 4;
            for (const unsigned index : {a, a + 1, b + 1, a, b + 1, b})
                list.PrimWriteIdx(static_cast<ImDrawIdx>(index));
        }
    }
}

}  // namespace

void draw_line(const Page& page, const Axes& axes) {
    const State& s = page.s;
    if (!s.heard.line || s.heard.line->points.empty()) return;
    const Kit& k = page.kit;
    const PitchCurve& line = *s.heard.line;
    const double hop = line.hop.value(), count = static_cast<double>(line.points.size());
    const double first =
        std::clamp(std::floor((s.look.from - line.start).value() / hop), 0.0, count);
    const double last = std::clamp(std::ceil((s.look.to - line.start).value() / hop), 0.0, count);
    // At most one point for each pixel and a half.
    const auto stride = static_cast<std::size_t>(
        std::max(1.0, std::floor(1.5 / (hop * static_cast<double>(axes.pixels_a_second())))));
    constexpr std::size_t longest = 400;  // points of one stroke
    std::vector<Nib> run;
    run.reserve(longest);
    const auto flush = [&] {
        stroke(k.list(), run, k.c.ink);
        run.clear();
    };
    float width = 1.0F;
    const float thickest = std::min(k.pt(4.0F), 0.4F * axes.row_height());
    // A leap from one point to the next is another note, not a slide: 9 semitones in 100 ms, a fast
    // one, are 45 cents a point. Far away, where points are passed over, it is not looked for.
    const double fastest = std::exp2(70.0 / 1200.0);
    const auto leaps = [&](std::size_t from, std::size_t to) {
        for (std::size_t j = from + 1; stride <= 8 && j <= to; ++j) {
            if (!line.points[j].f0 || !line.points[j - 1].f0) return true;
            const double ratio = *line.points[j].f0 / *line.points[j - 1].f0;
            if (ratio > fastest || ratio * fastest < 1.0) return true;
        }
        return false;
    };
    for (auto i = static_cast<std::size_t>(first); i < static_cast<std::size_t>(last);
         i += stride) {
        const PitchPoint& p = line.points[i];
        const float x = axes.x(line.time_of(i));
        if (!p.f0) {
            flush();
            // A guess where no lead was heard: faint dots, for mending.
            if (p.leaning && i % (6 * stride) == 0) {
                k.list().AddCircleFilled(at(x, axes.y(pitch_of(*p.leaning, line.tuning))),
                                         k.pt(0.9F), with_alpha(k.c.soft, 140), 6);
            }
            continue;
        }
        const float y = axes.y(pitch_of(*p.f0, line.tuning));
        const double under = (s.heard.loudest - p.level).value();
        const auto thick = static_cast<float>(std::clamp(1.0 - under / 36.0, 0.0, 1.0));
        width += 0.5F * (k.pt(1.1F) + thickest * thick - width);
        const auto alpha = static_cast<unsigned>(140 + 115 * std::clamp(p.confidence, 0.0, 1.0));
        const bool far_leap =
            !run.empty() && stride > 8 && std::abs(y - run.back().y) > 0.75F * axes.row_height();
        if (far_leap || (!run.empty() && leaps(i - stride, i))) flush();
        run.push_back({x, y, 0.5F * width, alpha});
        if (run.size() == longest) {
            const Nib joint = run.back();
            flush();
            run.push_back(joint);
        }
    }
    flush();
}

}  // namespace bentline::window
