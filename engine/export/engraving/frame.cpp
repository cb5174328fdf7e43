// The staff's lines and what stands at the beginning of a line and between bars.
#include <algorithm>
#include <array>
#include <cmath>

#include "engine/export/engraving/line.h"

namespace bentline::engraving {

namespace {

// Heights of the signs of a key, in the usual order (common practice).
constexpr std::array<double, 7> sharp_heights{-2.0, -0.5, -2.5, -1.0, 0.5, -1.5, 0.0};
constexpr std::array<double, 7> flat_heights{0.0, -1.5, 0.5, -1.0, 1.0, -0.5, 1.5};

void draw_signs(Block& staff, Owner owner, int fifths, Glyph sign, double x) {
    for (std::size_t i = 0; i < static_cast<std::size_t>(std::abs(fifths)); ++i) {
        const double y = fifths > 0 ? sharp_heights[i] : flat_heights[i];
        x = staff.glyph_left(Part::key, owner, sign, {x, y}).right + 0.12;
    }
}

void draw_key(Block& staff, Owner owner, int fifths, double x) {
    draw_signs(staff, owner, fifths, fifths > 0 ? Glyph::sharp : Glyph::flat, x);
}

void draw_number(Block& staff, Owner owner, int number, double middle, double y) {
    const Fonts& fonts = staff.fonts();
    const auto digit = [](char c) {
        return static_cast<Glyph>(static_cast<int>(Glyph::digit_0) + (c - '0'));
    };
    const std::string text = std::to_string(number);
    double width = 0.0;
    for (const char c : text)
        width += fonts[digit(c)].advance;
    double x = middle - width / 2.0;
    for (const char c : text) {
        staff.glyph(Part::metre, owner, digit(c), {x, y});
        x += fonts[digit(c)].advance;
    }
}

void draw_metre(Block& staff, Owner owner, const Metre& metre, double left, double width) {
    const double middle = left + width / 2.0;
    draw_number(staff, owner, metre.count, middle, 0.0);
    draw_number(staff, owner, metre.unit, middle, 2.0);
}

// Metre and, where `key`, signature that begin with a measure, their right end at `right`.
void draw_change(Block& staff, const Task& task, std::size_t measure, double right, bool key) {
    const Score& score = task.score;
    const Owner owner{measure, {}};
    if (shows_metre(score, measure)) {
        const Metre& metre = score.measures[measure].metre;
        const double width = metre_width(staff.fonts(), metre);
        draw_metre(staff, owner, metre, right - width, width);
        right -= width;
    }
    if (!key || !changes_key(score, measure)) return;
    const int before = key_at(score, measure - 1).fifths;
    const int fifths = key_at(score, measure).fifths;
    const double left = right - key_change_width(staff.fonts(), before, fifths);
    if (fifths == 0)
        draw_signs(staff, owner, before, Glyph::natural, left);
    else
        draw_key(staff, owner, fifths, left);
}

// At the end of bar i: thin; double before a new section or key; thin and thick at the end.
void draw_bar_line(Block& block, const Task& task, const LinePlace& line, std::size_t i, double top,
                   double bottom) {
    const BarPlace& bar = line.bars[i];
    const Owner owner{bar.measure, {}};
    const double x = bar.right;
    const auto thin = [&](double at) {
        block.line(Part::bar_line, owner, {at, top}, {at, bottom}, 0.16);
    };
    const auto& measures = task.score.measures;
    if (bar.measure + 1 == measures.size()) {
        thin(x - 0.95);
        block.line(Part::bar_line, owner, {x - 0.25, top}, {x - 0.25, bottom}, 0.5);
    } else if (double_bar_line_before(task.score, bar.measure + 1)) {
        thin(x - 0.5);
        thin(x - 0.08);
    } else {
        thin(x - 0.08);
    }
}

}  // namespace

void draw_frame(Block& staff, const Task& task, const LinePlace& line) {
    const std::size_t first = line.bars.front().measure;
    for (int i = -2; i <= 2; ++i) {
        staff.line(Part::staff_line, {first, {}}, {line.left, 1.0 * i}, {line.right, 1.0 * i},
                   line_thickness);
    }
    if (line.clef) {
        const Owner owner{first, {}};
        const Box clef = staff.glyph_left(Part::clef, owner, Glyph::clef_g, {line.left + 0.7, 1.0});
        staff.text_middle(
            Part::clef, owner,
            {"8", Face::italic, 1.75, {(clef.left + clef.right) / 2.0 - 0.1, clef.bottom + 1.05}});
        draw_key(staff, owner, key_at(task.score, first).fifths,
                 line.left + clef_width(staff.fonts()));
    }
    for (std::size_t i = 0; i < line.bars.size(); ++i) {
        const BarPlace& bar = line.bars[i];
        draw_change(staff, task, bar.measure, bar.music, i > 0 && bar.music > bar.left);
        draw_bar_line(staff, task, line, i, -2.05, 2.05);
    }
    if (line.right > line.music_end())
        draw_change(staff, task, line.bars.back().measure + 1, line.right, true);
}

namespace {

// A tablature line with a gap at every figure on it.
void draw_tab_line(Block& tab, const LinePlace& line, double y, const std::vector<Mark>& figures) {
    std::vector<std::pair<double, double>> gaps;
    for (const Mark& mark : figures) {
        const bool breaks = mark.part == Part::fret || mark.part == Part::clef;
        if (breaks && mark.box.top < y && y < mark.box.bottom)
            gaps.emplace_back(mark.box.left - 0.16, mark.box.right + 0.16);
    }
    std::sort(gaps.begin(), gaps.end());
    double from = line.left;
    const Owner owner{line.bars.front().measure, {}};
    for (const auto& [left, right] : gaps) {
        if (left > from) tab.line(Part::tab_line, owner, {from, y}, {left, y}, 0.085);
        from = std::max(from, right);
    }
    if (line.right > from) tab.line(Part::tab_line, owner, {from, y}, {line.right, y}, 0.085);
}

}  // namespace

void draw_tab_frame(Block& tab, const Task& task, const LinePlace& line) {
    const int strings = task.tab.strings;
    const double bottom = (strings - 1) * tab_gap;
    const std::vector<Mark> figures = tab.marks();
    for (int i = 0; i < strings; ++i)
        draw_tab_line(tab, line, i * tab_gap, figures);
    for (std::size_t i = 0; i < line.bars.size(); ++i)
        draw_bar_line(tab, task, line, i, -0.05, bottom + 0.05);
}

}  // namespace bentline::engraving
