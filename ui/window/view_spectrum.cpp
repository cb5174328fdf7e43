// The recording's spectrum, faint, behind the grid.
#include <algorithm>
#include <cmath>

#include "ui/window/page.h"

namespace bentline::window {

void draw_spectrum(const Page& page, const Axes& axes) {
    const State& s = page.s;
    if (!s.spectrum_shown || !s.heard.spectrum) return;
    const Spectrum& spectrum = *s.heard.spectrum;
    const Kit& k = page.kit;
    const double hop = spectrum.hop.value(), count = static_cast<double>(spectrum.columns());
    // Columns are put together until one is three points wide.
    auto stride = static_cast<std::size_t>(
        std::max(1.0, std::ceil(static_cast<double>(k.pt(3) / axes.pixels_a_second()) / hop)));
    if (stride > spectrum_block)  // whole blocks, which are gathered already
        stride = (stride + spectrum_block - 1) / spectrum_block * spectrum_block;
    const double first =
        std::clamp(std::floor((s.look.from - spectrum.from).value() / hop), 0.0, count);
    const double last =
        std::clamp(std::ceil((s.look.to - spectrum.from).value() / hop) + 1, 0.0, count);
    const auto begin = static_cast<std::size_t>(first) / stride * stride;
    const float half = axes.row_height() / (2 * spectrum_rows_a_key);
    for (int row = 0; row < spectrum_rows; ++row) {
        const double key = spectrum_lowest_key + (row - 0.5) / spectrum_rows_a_key;
        if (key < s.rows.from - 0.5 || key > s.rows.to - 0.5) continue;
        const float y = axes.y(Pitch(key));
        // Neighbours of one shade are one stroke.
        float x0 = 0;
        unsigned shade = 0;
        const auto flush = [&](float x1) {
            if (shade > 0) k.fill({x0, y - half, x1, y + half}, with_alpha(k.c.ink, shade * 9));
        };
        for (std::size_t c = begin; c < static_cast<std::size_t>(last); c += stride) {
            const std::uint8_t level =
                spectrum.strongest(c, std::min(c + stride, spectrum.columns()), row);
            const unsigned now = level < 120 ? 0 : (level - 104U) / 16U;
            if (now == shade) continue;
            const float x = axes.x(spectrum.from + spectrum.hop * (static_cast<double>(c) - 0.5));
            flush(x);
            x0 = x;
            shade = now;
        }
        flush(axes.x(spectrum.from + spectrum.hop * (last - 0.5)));
    }
}

}  // namespace bentline::window
