// Lines to pages.
#include "engine/export/engraving/engraving.h"

#include <algorithm>

#include "engine/export/engraving/line.h"
#include "engine/export/engraving/pages.h"

namespace bentline::engraving {

namespace {

constexpr double between_systems = 2.6;  // of ink
constexpr double most_between = 9.0;     // where a full page is spread
constexpr double foot_height = 4.2;      // kept free for the foot
constexpr double smallest_space_mm = 0.8;
constexpr double indent = 0.1;  // half of what a system's first line is thick

struct Pile {  // systems of one page
    std::size_t first = 0;
    std::size_t end = 0;
    double used = 0.0;  // height with the least gaps
};

std::vector<Pile> pile_up(const std::vector<System>& systems, double first_room, double room) {
    std::vector<Pile> piles;
    Pile pile;
    double left = first_room;
    for (std::size_t i = 0; i < systems.size(); ++i) {
        const double height = systems[i].box.height();
        const double more = height + (pile.end > pile.first ? between_systems : 0.0);
        if (pile.end > pile.first && pile.used + more > left) {
            piles.push_back(pile);
            pile = {i, i, 0.0};
            left = room;
        }
        pile.used += pile.end > pile.first ? more : height;
        pile.end = i + 1;
    }
    piles.push_back(pile);
    return piles;
}

// The gap between systems of a page: a full page is spread over its height, within limits.
double gap_of(const Pile& pile, double room, bool last) {
    const std::size_t gaps = pile.end - pile.first - 1;
    if (gaps == 0) return between_systems;
    const double spare = (room - pile.used) / static_cast<double>(gaps);
    return between_systems + std::min(spare, last ? 1.6 : most_between - between_systems);
}

void place(std::vector<Mark>& onto, const std::vector<Mark>& marks, double x, double y) {
    for (const Mark& mark : marks)
        onto.push_back(moved(mark, x, y));
}

System placed(const System& system, double x, double y) {
    System result = system;
    result.marks.clear();
    place(result.marks, system.marks, x, y);
    for (BarSpan& bar : result.bars) {
        bar.left += x;
        bar.right += x;
    }
    result.staff_top += y;
    result.tab_top += y;
    result.box = system.box.moved(x, y);
    return result;
}

double bottom_of(const std::vector<Mark>& marks) {
    double bottom = 0.0;
    for (const Mark& mark : marks)
        bottom = std::max(bottom, mark.box.bottom);
    return bottom;
}

std::optional<Sheet> engrave_at(const Task& task, const Heading& heading, double space_mm) {
    const PaperSize paper = size_of(task.settings.paper);
    Sheet sheet;
    sheet.space_mm = space_mm;
    sheet.width = paper.width_mm / space_mm;
    sheet.height = paper.height_mm / space_mm;
    sheet.margin = task.settings.margin_mm / space_mm;
    const double width = sheet.width - 2.0 * sheet.margin - 2.0 * indent;
    const std::vector<LinePlace> lines = break_lines(task, width);
    if (lines.empty()) return std::nullopt;
    std::vector<System> systems;
    systems.reserve(lines.size());
    for (const LinePlace& line : lines)
        systems.push_back(engrave_system(task, line));

    const double left = sheet.margin + indent;
    const std::vector<Mark> title = title_block(task, heading, width);
    const double title_height = bottom_of(title) + 1.8;
    const double room = sheet.height - 2.0 * sheet.margin - foot_height;
    const std::vector<Pile> piles = pile_up(systems, room - title_height, room);
    for (std::size_t p = 0; p < piles.size(); ++p) {
        Page page;
        double y = sheet.margin;
        if (p == 0) {
            place(page.marks, title, left, y);
            y += title_height;
        }
        const double gap =
            gap_of(piles[p], p == 0 ? room - title_height : room, p + 1 == piles.size());
        for (std::size_t i = piles[p].first; i < piles[p].end; ++i) {
            page.systems.push_back(placed(systems[i], left, y - systems[i].box.top));
            y += systems[i].box.height() + gap;
        }
        place(page.marks, page_foot(task, heading, p + 1, piles.size(), width), left,
              sheet.height - sheet.margin - 0.45);
        sheet.pages.push_back(std::move(page));
    }
    return sheet;
}

}  // namespace

PaperSize size_of(Paper paper) {
    return paper == Paper::a4 ? PaperSize{210.0, 297.0} : PaperSize{215.9, 279.4};
}

Result<Sheet> engrave(const Score& score, const TabPlan& tab, const Heading& heading,
                      const Fonts& fonts, const Settings& settings) {
    if (score.measures.empty()) {
        return Failure{
            FailureKind::out_of_range,
            "there is no bar to print; ink some notes, or give the draft its form or its chords",
            {}};
    }
    const Task task{score, tab, fonts, settings};
    for (double space = settings.space_mm; space >= smallest_space_mm; space *= 0.92) {
        if (auto sheet = engrave_at(task, heading, space)) return *std::move(sheet);
    }
    return Failure{
        FailureKind::out_of_range,
        "a bar holds more notes than a line of the paper has room for; choose larger paper",
        {}};
}

}  // namespace bentline::engraving
