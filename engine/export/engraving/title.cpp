// The title block and the foot of a page.
#include <algorithm>
#include <cmath>

#include "engine/export/engraving/pages.h"
#include "engine/export/number_text.h"

namespace bentline::engraving {

namespace {

constexpr double title_size = 4.6;
constexpr double least_title = 2.6;
constexpr double line_step = 2.5;

// Runs that are too wide for their place are cut at a letter and end in an ellipsis.
TextShape fitted(const Fonts& fonts, TextShape text, double width) {
    if (text_width(fonts, text) <= width) return text;
    while (!text.text.empty()) {
        const auto letters = set_letters(fonts, text);
        text.text.resize(letters.back().first_byte);
        TextShape cut = text;
        cut.text += "…";
        if (text_width(fonts, cut) <= width) return cut;
    }
    return text;
}

// The beat that a tempo counts: a small note, dotted in compound metres, and "= 132".
void draw_tempo(Block& block, const Score& score, double x, double y) {
    const Metre metre = score.measures.front().metre;
    const double beat = metre.quarters_per_beat();
    constexpr double scale = 0.75;
    const bool half = std::abs(beat - 2.0) < 0.01;
    const Glyph sign = half ? Glyph::head_half : Glyph::head_black;
    const double at = y - 0.36;
    const Box head = block.glyph_left(Part::title, {}, sign, {x, at}, scale);
    const double stem = head.right - 0.05;
    block.line(Part::title, {}, {stem, at - 0.12}, {stem, at - 2.5}, 0.11);
    double right = head.right;
    if (std::abs(beat - 0.5) < 0.01) {
        right = block.glyph(Part::title, {}, Glyph::flag_up_8, {stem, at - 2.5}, scale).right;
    }
    if (metre.compound())
        right = block.glyph_left(Part::title, {}, Glyph::dot, {right + 0.25, at}, scale).right;
    std::string words = "= " + fixed_text(score.tempo.value(), 0);
    if (score.swing && *score.swing >= 1.15) {
        words += "   Swing, eighths long to short " + fixed_text(*score.swing, 1) + " : 1";
    } else if (!metre.compound()) {
        words += "   Straight eighths";
    }
    block.text(Part::title, {}, {words, Face::text, 1.95, {right + 0.5, y}});
}

}  // namespace

std::vector<Mark> title_block(const Task& task, const Heading& heading, double width) {
    Block block(task.fonts);
    const Fonts& fonts = task.fonts;
    double y = 3.6;
    if (!task.score.title.empty()) {
        TextShape title{task.score.title, Face::text, title_size, {width / 2.0, y}};
        const double wanted = text_width(fonts, title);
        if (wanted > width) title.size = std::max(least_title, title.size * width / wanted);
        block.text_middle(Part::title, {}, fitted(fonts, title, width));
        y += 3.2;
    }
    const auto centred = [&](const std::string& words, Face face, double size) {
        if (words.empty()) return;
        block.text_middle(Part::title, {},
                          fitted(fonts, {words, face, size, {width / 2.0, y}}, width));
        y += line_step;
    };
    centred(task.score.players, Face::italic, 2.2);
    centred(heading.recording, Face::italic, 1.75);
    y += 1.2;
    if (!task.score.measures.empty() && task.score.tempo.value() > 0.0)
        draw_tempo(block, task.score, 0.0, y);
    if (!heading.tuning.empty()) {
        TextShape tuning{heading.tuning, Face::text, 1.95, {0.0, y}};
        tuning = fitted(fonts, tuning, width * 0.45);
        tuning.at.x = width - text_width(fonts, tuning);
        block.text(Part::title, {}, tuning);
    }
    return block.marks();
}

std::vector<Mark> page_foot(const Task& task, const Heading& heading, std::size_t page,
                            std::size_t pages, double width) {
    Block block(task.fonts);
    TextShape figure{std::to_string(page) + (pages > 1 ? " / " + std::to_string(pages) : ""),
                     Face::text,
                     1.75,
                     {}};
    const double room = text_width(task.fonts, figure);
    figure.at.x = width - room;
    block.text(Part::foot, {}, figure);
    const std::string& words = page == 1 ? heading.rights : task.score.title;
    if (!words.empty()) {
        block.text(Part::foot, {},
                   fitted(task.fonts, {words, Face::italic, 1.5, {}}, width - room - 2.0));
    }
    return block.marks();
}

}  // namespace bentline::engraving
