// Drawings in ink on paper: thin lines, no colour that carries a meaning of its own.
#include "engine/lesson/drawings.h"

#include <algorithm>
#include <cmath>

#include "engine/lesson/lesson_html.h"
#include "engine/lesson/lesson_text.h"

namespace bentline {
namespace {

constexpr double width = 720.0;
constexpr double margin = 34.0;

std::string n1(double v) {
    return figure_text(v, 1);
}

std::string open_svg(double height, const std::string& words) {
    return "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 " + n1(width) + " " +
           n1(height) + "\" role=\"img\" aria-label=\"" + escaped(words) + "\"><title>" +
           escaped(words) + "</title>\n";
}

std::string line(double x1, double y1, double x2, double y2, const char* kind) {
    return "<line class=\"" + std::string(kind) + "\" x1=\"" + n1(x1) + "\" y1=\"" + n1(y1) +
           "\" x2=\"" + n1(x2) + "\" y2=\"" + n1(y2) + "\"/>\n";
}

std::string text(double x, double y, const std::string& words, const char* anchor = "start") {
    return "<text x=\"" + n1(x) + "\" y=\"" + n1(y) + "\" text-anchor=\"" + anchor + "\">" +
           escaped(words) + "</text>\n";
}

// The stroke of a note: level as thickness, a bend as an arc up, vibrato as a wave.
std::string stroke(const Note& n, double x1, double x2, double y, double semitone,
                   double thickness) {
    std::string path = "M" + n1(x1) + " " + n1(y);
    if (const auto* in = find<SlideIn>(n)) {
        const int from = in->from ? in->from->value() - n.key.value() : -2;
        path = "M" + n1(x1) + " " + n1(y - from * semitone) + "L" + n1(x1 + (x2 - x1) * 0.3) + " " +
               n1(y);
    }
    const auto* bend = find<Bend>(n);
    const auto* shake = find<Vibrato>(n);
    if (bend != nullptr) {
        const double up = bend->size.value() / 100.0 * semitone;
        if (bend->prebend) path = "M" + n1(x1) + " " + n1(y - up);
        path += "Q" + n1(x1 + (x2 - x1) * 0.3) + " " + n1(y - up) + " " + n1(x1 + (x2 - x1) * 0.6) +
                " " + n1(y - up);
        path += "L" + n1(x2) + " " + n1(bend->release ? y : y - up);
    } else if (shake != nullptr && x2 - x1 > 8.0) {
        const double from = x1 + (x2 - x1) * 0.3;
        const double quarter = std::max(1.5, (x2 - from) / 16.0);
        path += "L" + n1(from) + " " + n1(y);
        bool up = true;
        for (double x = from; x + 2.0 * quarter <= x2; x += 2.0 * quarter, up = !up) {
            path += "Q" + n1(x + quarter) + " " + n1(y + (up ? -3.5 : 3.5)) + " " +
                    n1(x + 2.0 * quarter) + " " + n1(y);
        }
    } else if (const auto* out = find<SlideOut>(n)) {
        const int to = out->to ? out->to->value() - n.key.value() : -3;
        path += "L" + n1(x1 + (x2 - x1) * 0.6) + " " + n1(y) + "L" + n1(x2) + " " +
                n1(y - to * semitone);
    } else {
        path += "L" + n1(x2) + " " + n1(y);
    }
    std::string svg =
        "<path class=\"note\" stroke-width=\"" + n1(thickness) + "\" d=\"" + path + "\"/>\n";
    if (find<Accent>(n)) {
        svg += "<path class=\"thin\" d=\"M" + n1(x1) + " " + n1(y - 9.0) + "l5 2l-5 2\"/>\n";
    }
    if (find<Staccato>(n)) {
        svg += "<circle class=\"dot\" cx=\"" + n1(x1 + 1.5) + "\" cy=\"" + n1(y - 6.0) +
               "\" r=\"1.4\"/>\n";
    }
    return svg;
}

}  // namespace

std::string line_drawing(const Draft& draft, const LessonFigures& f, SecondsRange span) {
    int low = 127;
    int high = 0;
    double loudest = -200.0;
    for (const Note& n : f.notes) {
        low = std::min(low, n.key.value());
        high = std::max(high, n.key.value());
        if (n.level) loudest = std::max(loudest, n.level->value());
    }
    const double semitone = std::clamp(110.0 / (high - low + 4), 2.2, 7.0);
    const double top = 22.0;
    const double bottom = top + (high - low + 4) * semitone;
    const auto x_of = [&](Seconds t) {
        return margin + (width - margin - 6.0) * ((t - span.from) / (span.to - span.from));
    };
    const auto y_of = [&](int key) { return top + (high + 2 - key) * semitone; };
    std::size_t count = 0;
    for (const Note& n : f.notes)
        count += span.contains(n.onset) ? 1 : 0;
    std::string words = "The line from " + place_text(span.from, draft.bars) + " to " +
                        place_text(span.to - Seconds(1e-6), draft.bars) + ": " +
                        counted(count, "note") + ".";
    std::string svg = open_svg(bottom + 18.0, words);
    for (int key = low; key <= high; ++key) {
        if (key % 12 != 0) continue;  // every C
        svg += line(margin, y_of(key), width - 6.0, y_of(key), "grid");
        svg += text(margin - 6.0, y_of(key) + 3.5, key_name(MidiKey(key), draft.key), "end");
    }
    if (draft.bars) {
        const int last = draft.bars->position_at(span.to - Seconds(1e-6)).bar;
        for (int bar = draft.bars->position_at(span.from).bar; bar <= last; ++bar) {
            const double x = x_of(draft.bars->bar_span(bar).from);
            svg += line(x, top, x, bottom, "bar");
            std::string label = std::to_string(bar);
            if (bar >= 1 && static_cast<std::size_t>(bar) <= draft.chords.size())
                label += "  " + printed_signs(draft.chords[static_cast<std::size_t>(bar) - 1]);
            svg += text(x + 3.0, top - 6.0, label);
        }
    } else {
        for (double s = std::ceil(span.from.value()); s < span.to.value(); s += 1.0) {
            const double x = x_of(Seconds(s));
            svg += line(x, top, x, bottom, "bar");
            svg += text(x + 3.0, top - 6.0, figure_text(s, 0) + " s");
        }
    }
    for (const Note& n : f.notes) {
        if (!span.contains(n.onset)) continue;
        const double below = n.level ? loudest - n.level->value() : 6.0;
        const double thickness = std::clamp(4.2 - below * 0.14, 1.4, 4.2);
        svg += stroke(n, x_of(n.onset), std::max(x_of(n.offset), x_of(n.onset) + 2.0),
                      y_of(n.key.value()), semitone, thickness);
    }
    for (const SoloPhrase& p : f.phrases) {
        if (p.span.to <= span.from || p.span.from >= span.to) continue;
        const double from = std::max(margin, x_of(p.span.from));
        const double to = std::min(width - 6.0, x_of(p.span.to));
        const double y = bottom + 8.0;
        svg += line(from, y, to, y, "thin");
        if (span.contains(p.span.from)) svg += line(from, y - 4.0, from, y, "thin");
        if (p.span.to < span.to) svg += line(to, y - 4.0, to, y, "thin");
    }
    return svg + "</svg>\n";
}

std::string density_drawing(const LessonFigures& f) {
    if (f.stretches.empty()) return {};
    double most = 0.0;
    for (const Stretch& s : f.stretches)
        most = std::max(most, s.per_second);
    const double each = (width - margin - 6.0) / static_cast<double>(f.stretches.size());
    const double base = 70.0;
    std::string svg =
        open_svg(base + 16.0, "Notes a second, from " + f.stretches.front().name + " to " +
                                  f.stretches.back().name + "; at most " + n1(most) + ".");
    svg += text(margin - 6.0, 18.0, n1(most), "end");
    svg += text(margin - 6.0, base, "0", "end");
    const auto every = static_cast<std::size_t>(std::ceil(34.0 / each));
    for (std::size_t i = 0; i < f.stretches.size(); ++i) {
        const Stretch& s = f.stretches[i];
        const double x = margin + each * static_cast<double>(i);
        const double h = most > 0.0 ? (base - 12.0) * s.per_second / most : 0.0;
        svg += "<rect class=\"fill\" x=\"" + n1(x + 1.0) + "\" y=\"" + n1(base - h) +
               "\" width=\"" + n1(std::max(1.0, each - 2.0)) + "\" height=\"" + n1(h) + "\"/>\n";
        if (i % every == 0) {
            const std::string name = s.name.rfind("bar ", 0) == 0 ? s.name.substr(4) : s.name;
            svg += text(x + 1.0, base + 12.0, name);
        }
    }
    svg += line(margin, base, width - 6.0, base, "bar");
    return svg + "</svg>\n";
}

std::string level_drawing(const LessonFigures& f) {
    double softest = 1e9;
    double loudest = -1e9;
    std::size_t known = 0;
    for (const SoloPhrase& p : f.phrases) {
        if (!p.level) continue;
        ++known;
        softest = std::min(softest, p.level->value());
        loudest = std::max(loudest, p.level->value());
    }
    if (known < 2) return {};
    const Seconds begin = f.notes.front().onset;
    const Seconds length = f.length();
    const auto x_of = [&](Seconds t) {
        return margin + (width - margin - 6.0) * ((t - begin) / length);
    };
    const double reach = std::max(3.0, loudest - softest);
    const auto y_of = [&](double db) { return 14.0 + 50.0 * (loudest - db) / reach; };
    std::string svg = open_svg(
        80.0, "Level of each phrase, from " + n1(softest) + " to " + n1(loudest) + " decibels.");
    svg += text(margin - 6.0, y_of(loudest) + 3.5, n1(loudest), "end");
    if (loudest - softest >= 1.0)
        svg += text(margin - 6.0, y_of(softest) + 3.5, n1(softest), "end");
    for (const SoloPhrase& p : f.phrases) {
        if (!p.level) continue;
        const double y = y_of(p.level->value());
        svg += "<path class=\"note\" stroke-width=\"3.0\" d=\"M" + n1(x_of(p.span.from)) + " " +
               n1(y) + "L" + n1(std::max(x_of(p.span.to), x_of(p.span.from) + 3.0)) + " " + n1(y) +
               "\"/>\n";
    }
    return svg + "</svg>\n";
}

}  // namespace bentline
