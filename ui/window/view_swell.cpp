// How loud the solo is, where the bars are too narrow for a staff: its swells over the whole form.
#include <algorithm>
#include <cmath>
#include <optional>
#include <string>
#include <vector>

#include "ui/window/page.h"

namespace bentline::window {
namespace {

constexpr double reach = 36.0;  // dB under the loudest moment; the pitch line fades over the same

// The loudest level of the line within one pixel, or nothing where no lead is heard. At most a few
// points are looked at: levels change slowly.
std::optional<double> loudest_within(const PitchCurve& line, Seconds from, Seconds to) {
    const double count = static_cast<double>(line.points.size());
    const auto index = [&](Seconds t) {
        return static_cast<std::size_t>(std::clamp((t - line.start) / line.hop, 0.0, count));
    };
    const std::size_t first = index(from), last = std::max(first + 1, index(to));
    const std::size_t step = std::max<std::size_t>(1, (last - first) / 6);
    std::optional<double> loudest;
    for (std::size_t i = first; i < std::min(last, line.points.size()); i += step) {
        const PitchPoint& p = line.points[i];
        if (p.f0) loudest = std::max(loudest.value_or(-1e9), p.level.value());
    }
    return loudest;
}

// The level of every pixel, dB under the loudest moment: of the line, or, until there is one, of
// the notes.
std::vector<std::optional<double>> levels_under(const State& s, const Axes& axes,
                                                std::size_t pixels) {
    std::vector<std::optional<double>> levels(pixels);
    if (s.heard.line) {
        const Seconds pixel((s.look.to - s.look.from).value() / static_cast<double>(pixels));
        for (std::size_t i = 0; i < pixels; ++i) {
            const Seconds from = s.look.from + pixel * static_cast<double>(i);
            const auto level = loudest_within(*s.heard.line, from, from + pixel);
            if (level) levels[i] = s.heard.loudest.value() - *level;
        }
        return levels;
    }
    double loudest = -1e9;
    for (const DraftNote& n : s.draft.notes)
        if (n.note.level) loudest = std::max(loudest, n.note.level->value());
    const Range<std::size_t> seen = s.draft.notes.within(s.look);
    for (std::size_t i = seen.from; i < seen.to; ++i) {
        const Note& note = s.draft.notes[i].note;
        if (!note.level) continue;
        const auto index = [&](Seconds t) {
            return static_cast<std::size_t>(
                std::clamp(axes.x(t) - axes.box.x0, 0.0F, static_cast<float>(pixels)));
        };
        for (std::size_t x = index(note.onset); x < index(note.offset); ++x)
            levels[x] = loudest - note.level->value();
    }
    return levels;
}

}  // namespace

void draw_swell(const Page& page, const Axes& axes) {
    const Kit& k = page.kit;
    const State& s = page.s;
    const Box b = page.l.manuscript.inset(0, k.pt(8));
    const Box in{b.x0, b.y0 + k.pt(18), b.x1, b.y1 - k.pt(4)};
    k.text_in(k.f.small, {b.x0, b.y0, b.x1, b.y0 + k.pt(16)}, Align::right, k.c.soft,
              "Look closer (" + page.key_of("closer") + ") for staff and tablature");
    k.text(k.f.small, b.x0, b.y0 + k.pt(1), k.c.soft,
           "The solo's swells, beside its loudest moment");
    const auto y_of = [&](double under) {
        return in.y0 + static_cast<float>(std::clamp(under / reach, 0.0, 1.0)) * in.h();
    };
    for (const int under : {0, 12, 24, 36}) {
        const float y = y_of(under);
        k.line(in.x0, y, in.x1, y, k.c.rule, 1);
        if (under == 36) continue;
        const std::string words = under == 0 ? "0 dB" : "−" + std::to_string(under);
        k.text_in(k.f.small, {page.l.signature.x0, y - k.pt(8), in.x0 - k.pt(8), y + k.pt(8)},
                  Align::right, k.c.soft, words);
    }
    const auto pixels = static_cast<std::size_t>(in.w());
    const std::vector<std::optional<double>> levels = levels_under(s, axes, pixels);
    // A swell is slower than a note: the mean of a few pixels' loudest.
    constexpr std::size_t around = 4;
    std::optional<float> before;
    for (std::size_t i = 0; i < pixels; ++i) {
        const std::size_t first = i < around ? 0 : i - around;
        double sum = 0, count = 0;
        for (std::size_t j = first; levels[i] && j < std::min(pixels, i + around + 1); ++j)
            if (levels[j]) sum += *levels[j], count += 1;
        const double under = count > 0 ? sum / count : reach;
        if (under >= reach) {
            before.reset();
            continue;
        }
        const float x = in.x0 + static_cast<float>(i), y = y_of(under);
        k.fill({x, y, x + 1, in.y1}, with_alpha(k.c.ink, 38));
        k.line(x - (before ? 1.0F : 0.0F), before.value_or(y), x, y, k.c.ink, 1.4F);
        before = y;
    }
    const float x = axes.x(s.play.at);
    if (x >= in.x0 && x <= in.x1) k.line(x, in.y0, x, in.y1, k.c.here, 1.6F);
}

}  // namespace bentline::window
