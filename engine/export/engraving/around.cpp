// What stands over and under the staff: articulations, tuplets, waves and trills, dynamics, chords.
#include <algorithm>
#include <cmath>

#include "engine/export/engraving/line.h"
#include "engine/export/number_text.h"
#include "engine/score/spell.h"

namespace bentline::engraving {

void draw_articulations(Block& staff, const LinePlace& line, const Heads& heads) {
    for (const PlacedHead& head : heads) {
        const double side = head.has_stem ? (head.up ? 1.0 : -1.0) : (head.y > 0.0 ? 1.0 : -1.0);
        const double middle = head.x + head.plan->head / 2.0;
        const Owner owner = head.owner(line);
        if (sign_of<DotSign>(head.head()) != nullptr) {
            // In the middle of a space, inside the staff too.
            double y = head.y + side;
            const bool on_line = std::abs(y - std::round(y)) < 0.25;
            if (on_line && std::abs(y) < 2.6) y += side * 0.5;
            const double half = 0.2;
            if (!staff.is_free({middle - half, y - half, middle + half, y + half})) {
                y = side < 0.0 ? staff.free_above(middle - half, middle + half, y + half) - half
                               : staff.free_below(middle - half, middle + half, y - half) + half;
            }
            staff.glyph_middle(Part::articulation, owner, Glyph::staccato, {middle, y}, 1.15);
        }
        if (sign_of<AccentSign>(head.head()) != nullptr) {
            const double half_width = 0.65, half_height = 0.42;
            const double y =
                side < 0.0
                    ? staff.free_above(middle - half_width, middle + half_width, -2.3) - half_height
                    : staff.free_below(middle - half_width, middle + half_width, 2.3) + half_height;
            staff.glyph_middle(Part::articulation, owner, Glyph::accent, {middle, y}, 0.92);
        }
    }
}

namespace {

// The heads of a tuplet, as indices into the line's heads.
std::vector<std::size_t> heads_of(const Heads& heads, std::size_t bar, const Tuplet& tuplet) {
    std::vector<std::size_t> inside;
    for (std::size_t i = 0; i < heads.size(); ++i) {
        if (heads[i].bar == bar && heads[i].event >= tuplet.first && heads[i].event <= tuplet.last)
            inside.push_back(i);
    }
    return inside;
}

// True where one beam covers exactly the tuplet.
bool is_one_beam(const Heads& heads, const std::vector<std::size_t>& inside, const Tuplet& tuplet) {
    if (inside.size() < 2) return false;
    const PlacedHead& a = heads[inside.front()];
    const PlacedHead& z = heads[inside.back()];
    if (a.event != tuplet.first || z.event != tuplet.last) return false;
    if (!a.beamed || !z.beamed) return false;
    if (a.head().beams[0] != Beam::begin || z.head().beams[0] != Beam::end) return false;
    return std::none_of(inside.begin() + 1, inside.end() - 1, [&](std::size_t i) {
        return !heads[i].beamed || heads[i].head().beams[0] == Beam::end;
    });
}

void draw_bracket(Block& staff, Owner owner, double left, double right, double y, double hook,
                  double number_width) {
    const double middle = (left + right) / 2.0;
    const double hole = number_width / 2.0 + 0.35;
    constexpr double thick = 0.12;
    if (middle - hole > left + 0.1) {
        staff.line(Part::tuplet, owner, {left, y}, {middle - hole, y}, thick);
        staff.line(Part::tuplet, owner, {middle + hole, y}, {right, y}, thick);
    }
    staff.line(Part::tuplet, owner, {left, y}, {left, y + hook}, thick);
    staff.line(Part::tuplet, owner, {right, y}, {right, y + hook}, thick);
}

void draw_tuplet(Block& staff, const LinePlace& line, const Heads& heads, std::size_t b,
                 const Tuplet& tuplet) {
    const BarPlace& bar = line.bars[b];
    const auto inside = heads_of(heads, b, tuplet);
    const bool beam = is_one_beam(heads, inside, tuplet);
    const bool all_down = !inside.empty() && std::all_of(inside.begin(), inside.end(),
                                                         [&](auto i) { return !heads[i].up; });
    const double side = all_down ? 1.0 : -1.0;
    double left = bar.events[tuplet.first];
    double right = bar.events[tuplet.last] + bar.plans[tuplet.last].head;
    if (beam) {
        left = heads[inside.front()].stem_x;
        right = heads[inside.back()].stem_x;
    }
    const double middle = (left + right) / 2.0;
    const Owner owner{bar.measure, {}};
    TextShape number{std::to_string(tuplet.actual), Face::italic, 1.75, {middle, 0.0}};
    const double width = text_width(staff.fonts(), number);
    const Box ink = text_box(staff.fonts(), {number.text, number.face, number.size, {}});
    const double from = beam ? middle - width / 2.0 : left;
    const double to = beam ? middle + width / 2.0 : right;
    const double clear = 0.28;
    if (side < 0.0) {
        const double bottom = staff.free_above(from, to, beam ? 9.0 : -2.4, clear);
        const double y = beam ? bottom : bottom - 0.5;
        number.at.y = y - ink.bottom + (beam ? 0.0 : ink.height() / 2.0);
        staff.text_middle(Part::tuplet, owner, number);
        if (!beam) draw_bracket(staff, owner, left, right, y, 0.6, width);
    } else {
        const double top = staff.free_below(from, to, beam ? -9.0 : 2.4, clear);
        const double y = beam ? top : top + 0.5;
        number.at.y = y - ink.top - (beam ? 0.0 : ink.height() / 2.0);
        staff.text_middle(Part::tuplet, owner, number);
        if (!beam) draw_bracket(staff, owner, left, right, y, -0.6, width);
    }
}

}  // namespace

void draw_tuplets(Block& staff, const Task& task, const LinePlace& line, const Heads& heads) {
    for (std::size_t b = 0; b < line.bars.size(); ++b) {
        for (const Tuplet& tuplet : task.score.measures[line.bars[b].measure].tuplets)
            draw_tuplet(staff, line, heads, b, tuplet);
    }
}

namespace {

// Where the sound of a head and of those tied to it ends in this line.
double end_of_chain(const LinePlace& line, const Heads& heads, std::size_t i) {
    while (i + 1 < heads.size() && heads[i].head().tied_to_next)
        ++i;
    const BarPlace& bar = line.bars[heads[i].bar];
    const std::size_t next = heads[i].event + 1;
    const double end =
        next < bar.events.size() ? bar.events[next] - bar.plans[next].left : bar.right;
    return end - 0.5;
}

// The wavy sign of a head, or of the one that it continues from the line before.
const WavyLineSign* wave_of(const Task& task, const LinePlace& line, const Heads& heads,
                            std::size_t i) {
    const Head& head = heads[i].head();
    if (const auto* sign = sign_of<WavyLineSign>(head)) return sign;
    if (i > 0 || !head.tied_from_before) return nullptr;
    for (std::size_t m = line.bars.front().measure; m-- > 0;) {
        const auto& events = task.score.measures[m].events;
        for (std::size_t e = events.size(); e-- > 0;) {
            if (!events[e].head || events[e].head->note != head.note) return nullptr;
            if (const auto* sign = sign_of<WavyLineSign>(*events[e].head)) return sign;
        }
    }
    return nullptr;
}

Box draw_wave(Block& staff, Owner owner, double left, double right, double scale, double start) {
    const GlyphMeasure& wave = staff.fonts()[Glyph::wave];
    const double step = wave.advance * scale;
    const int count = std::max(2, static_cast<int>((right - left) / step));
    const double width = step * count + (wave.box.width() - wave.advance) * scale;
    const double y = staff.free_above(left, left + width, start) - wave.box.bottom * scale;
    Box box;
    for (int i = 0; i < count; ++i) {
        const Box here = staff.glyph(Part::wave, owner, Glyph::wave,
                                     {left + step * i - wave.box.left * scale, y}, scale);
        box = i == 0 ? here : united(box, here);
    }
    return box;
}

void draw_trill(Block& staff, const Task& task, const LinePlace& line, const Heads& heads,
                std::size_t i, const TrillSign& trill) {
    const PlacedHead& head = heads[i];
    const Owner owner = head.owner(line);
    const GlyphMeasure& sign = staff.fonts()[Glyph::trill];
    constexpr double scale = 0.85;
    constexpr double small = 0.6;
    const double width = sign.box.width() * scale;
    const double left = head.x - 0.3;
    const double end = end_of_chain(line, heads, i);
    const bool waves = end - left - width > 3.0;
    const Key key = key_at(task.score, line.bars[head.bar].measure);
    const bool other = trill.with.alter != alter_in_key(trill.with.step, key);
    const double y =
        staff.free_above(left, waves ? end : left + width + (other ? 0.9 : 0.0), -2.6) -
        sign.box.bottom * scale;
    double right = staff.glyph_left(Part::trill, owner, Glyph::trill, {left, y}, scale).right;
    if (other) {
        right = staff
                    .glyph_left(Part::trill, owner, accidental_glyph(trill.with.alter),
                                {right + 0.12, y - 0.7}, small)
                    .right;
    }
    if (!waves || end - right < 1.4) return;
    const GlyphMeasure& wave = staff.fonts()[Glyph::wave];
    for (double x = right + 0.35; x + wave.box.width() * 0.8 < end; x += wave.advance * 0.8) {
        staff.glyph_left(Part::wave, owner, Glyph::wave, {x, y - 0.3}, 0.8);
    }
}

}  // namespace

void draw_waves_and_trills(Block& staff, const Task& task, const LinePlace& line,
                           const Heads& heads) {
    for (std::size_t i = 0; i < heads.size(); ++i) {
        const Owner owner = heads[i].owner(line);
        if (const auto* trill = sign_of<TrillSign>(heads[i].head()))
            draw_trill(staff, task, line, heads, i, *trill);
        const WavyLineSign* wave = wave_of(task, line, heads, i);
        if (wave == nullptr) continue;
        const double scale = wave->wide ? 1.15 : 0.8;
        const Box box =
            draw_wave(staff, owner, heads[i].x - 0.1, end_of_chain(line, heads, i), scale, -2.6);
        if (task.settings.measured && sign_of<WavyLineSign>(heads[i].head()) != nullptr) {
            TextShape figure{fixed_text(wave->rate.value(), 1) + " Hz ±" +
                                 fixed_text(wave->depth.value(), 0) + " c",
                             Face::italic,
                             small_type,
                             {box.left, 0.0}};
            const double width = text_width(staff.fonts(), figure);
            figure.at.x = std::min(figure.at.x, line.right - width);
            const Box ink = text_box(staff.fonts(), figure);
            figure.at.y = staff.free_above(figure.at.x, figure.at.x + width, box.top - 0.2, 0.22) -
                          ink.bottom;
            staff.text(Part::figure, owner, figure);
        }
    }
}

void draw_chords(Block& staff, const Task& task, const LinePlace& line) {
    const Fonts& fonts = staff.fonts();
    // One baseline for the whole line, clear of everything below it.
    double baseline = -3.9;
    std::vector<std::pair<Owner, TextShape>> chords;
    for (const BarPlace& bar : line.bars) {
        const Measure& measure = task.score.measures[bar.measure];
        for (const ChordSymbol& chord : measure.chords) {
            TextShape text{printed_chord(chord.text),
                           Face::text,
                           chord_size,
                           {x_at(bar, measure, chord.at), 0.0}};
            const Box ink = text_box(fonts, text);
            baseline =
                std::min(baseline, staff.free_above(ink.left, ink.right, -3.4, 0.55) - ink.bottom);
            chords.emplace_back(Owner{bar.measure, {}}, std::move(text));
        }
    }
    for (auto& [owner, text] : chords) {
        text.at.y = baseline;
        staff.text(Part::chord, owner, text);
    }
    for (std::size_t i = 0; i < line.bars.size(); ++i) {
        const BarPlace& bar = line.bars[i];
        const Measure& measure = task.score.measures[bar.measure];
        const Owner owner{bar.measure, {}};
        double right = bar.left;
        if (!measure.section.empty()) {
            TextShape letter{measure.section, Face::bold, 2.3, {}};
            const Box ink = text_box(fonts, letter);
            const double pad = 0.5;
            const double width = std::max(ink.width(), 1.3) + 2.0 * pad;
            const double height = 1.55 + 2.0 * pad;
            const double left = i == 0 ? bar.left + 0.05 : bar.left - 0.05;
            const double bottom = staff.free_above(left, left + width, -3.0, 0.45);
            const double top = bottom - height;
            right = left + width;
            staff.line(Part::section, owner, {left, top}, {right, top}, 0.13);
            staff.line(Part::section, owner, {left, bottom}, {right, bottom}, 0.13);
            staff.line(Part::section, owner, {left, top}, {left, bottom}, 0.13);
            staff.line(Part::section, owner, {right, top}, {right, bottom}, 0.13);
            letter.at = {left + width / 2.0 - ink.width() / 2.0 - ink.left, bottom - pad};
            staff.text(Part::section, owner, letter);
        }
        if (measure.swing) {
            const bool even = *measure.swing <= 1.0;
            TextShape feel{
                even ? "Straight eighths" : "Swing " + fixed_text(*measure.swing, 1) + " : 1",
                Face::text,
                1.95,
                {measure.section.empty() ? bar.left : right + 0.45, 0.0}};
            const Box ink = text_box(fonts, feel);
            feel.at.y = staff.free_above(ink.left, ink.right, -3.0, 0.45) - ink.bottom;
            staff.text(Part::section, owner, feel);
        }
        if (i > 0 || measure.number <= 1) continue;
        TextShape number{std::to_string(measure.number), Face::italic, 1.55, {}};
        number.at.x = measure.section.empty() ? bar.left : right + 0.45;
        const Box ink = text_box(fonts, number);
        number.at.y = staff.free_above(ink.left, ink.right, -2.6, 0.35);
        staff.text(Part::bar_number, owner, number);
    }
}

}  // namespace bentline::engraving
