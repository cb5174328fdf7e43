// SVG 1.1 written by hand: two squares side by side.
#include "tests/corpus/reliability.h"

#include <array>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <string>

namespace bentline::corpus {

namespace {

constexpr double side = 360.0;
constexpr double gap = 60.0;
// Okabe & Ito (2008): told apart by every kind of colour vision; the dashes tell them apart too.
constexpr std::array<const char*, 6> colours = {"#0072B2", "#D55E00", "#009E73",
                                                "#CC79A7", "#E69F00", "#000000"};
constexpr std::array<const char*, 6> dashes = {"none", "6 3", "2 3", "8 3 2 3", "12 4", "4 2"};

template <class... Values>
std::string form(const char* text, Values... values) {
    std::array<char, 400> out{};
    std::snprintf(out.data(), out.size(), text, values...);  // NOLINT
    return out.data();
}

std::string frame(double left, const char* title) {
    std::string svg = form(
        "<rect x=\"%.0f\" y=\"%.0f\" width=\"%.0f\" height=\"%.0f\" fill=\"none\" "
        "stroke=\"#555\"/>\n",
        left, gap, side, side);
    svg += form("<line x1=\"%.0f\" y1=\"%.0f\" x2=\"%.0f\" y2=\"%.0f\" stroke=\"#bbb\"/>\n", left,
                gap + side, left + side, gap);
    svg +=
        form("<text x=\"%.0f\" y=\"%.0f\" font-size=\"15\">%s</text>\n", left, gap - 14.0, title);
    for (int k = 0; k <= 10; k += 2) {
        svg += form("<text x=\"%.0f\" y=\"%.0f\" text-anchor=\"middle\">.%d</text>\n",
                    left + side * k / 10.0, gap + side + 18.0, k);
        svg += form("<text x=\"%.0f\" y=\"%.0f\" text-anchor=\"end\">.%d</text>\n", left - 6.0,
                    gap + side - side * k / 10.0 + 4.0, k);
    }
    svg += form("<text x=\"%.0f\" y=\"%.0f\" text-anchor=\"middle\">confidence stated</text>\n",
                left + side / 2.0, gap + side + 38.0);
    return svg;
}

std::string curve(const Reliability& r, double left, std::size_t which) {
    std::string points;
    std::string dots;
    const char* colour = colours[which % colours.size()];
    std::size_t most = 1;
    for (const std::size_t n : r.count)
        most = std::max(most, n);
    for (std::size_t k = 0; k < r.count.size(); ++k) {
        if (r.count[k] < 5) continue;  // too few to say anything
        const auto n = static_cast<double>(r.count[k]);
        const double x = left + side * r.said[k] / n;
        const double y = gap + side - side * static_cast<double>(r.right[k]) / n;
        points += form("%.1f,%.1f ", x, y);
        dots += form("<circle cx=\"%.1f\" cy=\"%.1f\" r=\"%.1f\" fill=\"%s\"/>\n", x, y,
                     2.0 + 6.0 * std::sqrt(n / static_cast<double>(most)), colour);
    }
    return "<polyline fill=\"none\" stroke-width=\"1.5\" stroke=\"" + std::string(colour) +
           "\" stroke-dasharray=\"" + dashes[which % dashes.size()] + "\" points=\"" + points +
           "\"/>\n" + dots;
}

std::string numbers(const Scoreboard& b) {
    std::string text = b.name + "\n";
    const auto row = [&](const char* what, const Reliability& r) {
        text += form("  %-12s", what);
        for (std::size_t k = 0; k < r.count.size(); ++k) {
            const auto n = static_cast<double>(r.count[k]);
            text += r.count[k] ? form(" %.2f>%.2f(%zu)", r.said[k] / n,
                                      static_cast<double>(r.right[k]) / n, r.count[k])
                               : std::string(" -");
        }
        text += form("  expected error %.3f\n", r.expected_error());
    };
    row("notes", b.note_confidence);
    row("inflections", b.inflection_confidence);
    return text;
}

}  // namespace

Result<Done> plot_reliability(const std::filesystem::path& folder,
                              std::span<const Scoreboard> boards) {
    std::error_code trouble;
    std::filesystem::create_directories(folder, trouble);
    const double second = 2.0 * gap + side;
    const double width = 3.0 * gap + 2.0 * side;
    std::string svg = form(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%.0f\" height=\"%.0f\" "
        "font-family=\"sans-serif\" font-size=\"12\">\n<rect width=\"100%%\" height=\"100%%\" "
        "fill=\"white\"/>\n",
        width, 2.0 * gap + side + 20.0 * static_cast<double>(boards.size()));
    svg += frame(gap, "Notes: share right") + frame(second, "Inflections: share right");
    std::string text = "stated > right (number), by tenths of confidence\n";
    for (std::size_t k = 0; k < boards.size(); ++k) {
        svg += curve(boards[k].note_confidence, gap, k);
        svg += curve(boards[k].inflection_confidence, second, k);
        const double y = gap + side + 60.0 + 20.0 * static_cast<double>(k);
        svg += form(
            "<line x1=\"%.0f\" y1=\"%.0f\" x2=\"%.0f\" y2=\"%.0f\" stroke=\"%s\" "
            "stroke-width=\"2\" stroke-dasharray=\"%s\"/>\n",
            gap, y - 4.0, gap + 40.0, y - 4.0, colours[k % colours.size()],
            dashes[k % dashes.size()]);
        svg += form(
            "<text x=\"%.0f\" y=\"%.0f\">%s: expected error %.3f (notes), %.3f "
            "(inflections)</text>\n",
            gap + 50.0, y, boards[k].name.c_str(), boards[k].note_confidence.expected_error(),
            boards[k].inflection_confidence.expected_error());
        text += numbers(boards[k]);
    }
    svg += "</svg>\n";
    std::ofstream(folder / "calibration.svg") << svg;
    std::ofstream out(folder / "calibration.txt");
    out << text;
    if (!out.flush()) {
        return Failure{FailureKind::cannot_write,
                       "The calibration cannot be written into " + folder.string(),
                       {}};
    }
    return Done{};
}

}  // namespace bentline::corpus
