// The window's proportions, in points.
#include "ui/window/layout.h"

namespace bentline::window {

Layout lay_out(float width, float height, float scale) {
    const auto pt = [scale](float points) { return points * scale; };
    const float gap = pt(10);
    const bool narrow = width < pt(960) || height < pt(600);
    Layout l;
    l.heading = {gap, pt(6), width - gap, pt(44)};
    l.overview = {gap, l.heading.y1 + pt(2), width - gap, l.heading.y1 + pt(narrow ? 40 : 52)};
    l.margin = {gap, l.overview.y1, width - gap, l.overview.y1 + pt(30)};
    l.transport = {gap, height - pt(74), width - gap, height - pt(8)};
    const float top = l.margin.y1, bottom = l.transport.y0 - pt(8);
    const float chart_width = narrow ? 0 : std::clamp(0.29F * width, pt(340), pt(520));
    l.chart = {gap, top, gap + chart_width, bottom};
    l.bench = {narrow ? gap : l.chart.x1 + gap, top, width - gap, bottom};
    l.slip = {l.bench.x0, bottom - pt(104), l.bench.x1, bottom};
    l.stage = {l.bench.x0 + pt(106), l.slip.y0 - pt(36), l.bench.x1 - pt(10), l.slip.y0 - pt(6)};
    l.counting = {l.stage.x0, top + pt(4), l.stage.x1, top + pt(34)};
    l.grid = {l.stage.x0, l.counting.y1, l.stage.x1, l.stage.y0 - pt(6)};
    l.names = {l.bench.x0, l.grid.y0, l.grid.x0, l.grid.y1};
    return l;
}

}  // namespace bentline::window
