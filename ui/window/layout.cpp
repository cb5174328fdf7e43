// The window's proportions, in points.
#include "ui/window/layout.h"

namespace bentline::window {

Layout lay_out(float width, float height, float scale, bool manuscript, float needs) {
    const auto pt = [scale](float points) { return points * scale; };
    const float gap = pt(10);
    const bool narrow = width < pt(960) || height < pt(600);
    Layout l;
    l.heading = {gap, pt(6), width - gap, pt(42)};
    l.overview = {gap, l.heading.y1 + pt(2), width - gap, l.heading.y1 + pt(40)};
    const float under = l.overview.y1 + pt(30);
    const float stage_width = narrow ? 0.34F * width : pt(330);
    l.stage = {width - gap - stage_width, l.overview.y1 + pt(4), width - gap, under - pt(4)};
    l.margin = {gap, l.overview.y1, l.stage.x0 - pt(16), under};
    l.transport = {gap, height - pt(74), width - gap, height - pt(8)};
    const float top = under, bottom = l.transport.y0 - pt(8);
    const float chart_width = narrow ? 0 : std::clamp(0.29F * width, pt(340), pt(520));
    l.chart = {gap, top, gap + chart_width, bottom};
    l.bench = {narrow ? gap : l.chart.x1 + gap, top, width - gap, bottom};
    l.slip = {l.bench.x0, bottom - pt(100), l.bench.x1, bottom};
    const float x0 = l.bench.x0 + pt(106), x1 = l.bench.x1 - pt(10);
    // More room goes to the grid first, a quarter of it to the manuscript.
    const float spare = std::max(0.0F, l.slip.y0 - top - pt(440));
    const float most = std::max(pt(manuscript_height), l.slip.y0 - top - pt(34 + 190));
    const float larger = std::clamp(1.0F + spare / pt(1000), 1.0F, 1.35F);
    l.space = pt(staff_space) * larger;
    const float high = std::clamp(pt(needs) * larger, pt(manuscript_height), most);
    const float strip =
        manuscript && !narrow ? std::max(high, pt(manuscript_height) + 0.2F * spare) : 0;
    l.manuscript = {x0, l.slip.y0 - strip - pt(2), x1, l.slip.y0 - pt(2)};
    l.signature = {l.bench.x0, l.manuscript.y0, x0, l.manuscript.y1};
    l.counting = {x0, top + pt(4), x1, top + pt(34)};
    l.grid = {x0, l.counting.y1, x1, l.manuscript.y0 - pt(4)};
    l.names = {l.bench.x0, l.grid.y0, x0, l.grid.y1};
    return l;
}

}  // namespace bentline::window
