// The page: heading, drawings, what happens, practice, cautions.
#include "engine/lesson/lesson_html.h"

#include <algorithm>

#include "engine/lesson/drawings.h"
#include "engine/lesson/figures.h"
#include "engine/lesson/lesson_text.h"
#include "engine/lesson/remarks.h"

namespace bentline {
namespace {

constexpr int bars_a_line = 4;
constexpr Seconds seconds_a_line{8.0};

const char* const style = R"(
body { background: #faf7ef; color: #22201c; font: 15px/1.45 Georgia, "Times New Roman", serif;
  max-width: 47em; margin: 2em auto; padding: 0 1em; }
h1 { font-size: 1.7em; font-weight: normal; margin: 0; }
h2 { font-size: 1.15em; font-weight: normal; font-style: italic; margin: 1.8em 0 .5em;
  border-bottom: 1px solid #b9b09c; }
p { margin: .3em 0; }
svg { display: block; width: 100%; height: auto; margin: .3em 0; break-inside: avoid; }
svg text { font: 10px Georgia, serif; fill: #4a453b; }
.grid { stroke: #e0d9c8; stroke-width: 1; }
.bar { stroke: #b9b09c; stroke-width: 1; }
.thin { stroke: #4a453b; stroke-width: 1; fill: none; }
.note { stroke: #22201c; fill: none; stroke-linecap: round; stroke-linejoin: round; }
.dot { fill: #22201c; }
.fill { fill: #8d8471; }
table { border-collapse: collapse; width: 100%; }
td, th { text-align: left; vertical-align: top; padding: .3em .8em .3em 0;
  border-bottom: 1px solid #e0d9c8; font-weight: normal; }
tr { break-inside: avoid; }
.where { white-space: nowrap; }
.figure, .small { color: #5b5548; font-size: .9em; }
@media print { body { background: #fff; margin: 0; max-width: none; font-size: 11pt; } }
)";

class Page {
  public:
    Page(const Draft& draft, WhichNotes which)
        : draft_(draft), which_(which), f_(figure_out(draft, which)) {}

    std::string write() {
        const std::string title = draft_.title.empty() ? "A solo" : draft_.title;
        html_ =
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<!DOCTYPE html>\n"
            "<html xmlns=\"http://www.w3.org/1999/xhtml\" lang=\"en\" xml:lang=\"en\">\n<head>\n"
            "<meta charset=\"utf-8\"/>\n"
            "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n<title>" +
            escaped(title) + ": what the solo does</title>\n<style>" + style +
            "</style>\n</head>\n<body>\n<h1>" + escaped(title) + "</h1>\n";
        if (!draft_.players.empty()) paragraph(draft_.players, "");
        paragraph(summary(), "small");
        if (f_.notes.empty()) {
            paragraph(which_ == WhichNotes::inked
                          ? "No note is inked yet. Ink the notes that are right; then there is "
                            "something to explain."
                          : "The draft has no notes yet.",
                      "");
        } else {
            drawings();
            remarks();
            exercises();
        }
        cautions();
        html_ += "</body>\n</html>\n";
        return std::move(html_);
    }

  private:
    void paragraph(const std::string& words, const std::string& kind) {
        html_ += kind.empty() ? "<p>" : "<p class=\"" + kind + "\">";
        html_ += escaped(words) + "</p>\n";
    }
    void heading(const std::string& words) { html_ += "<h2>" + escaped(words) + "</h2>\n"; }

    std::string summary() const {
        std::string words = counted(f_.notes.size(), "note");
        if (which_ == WhichNotes::inked_and_pencilled) words += ", pencilled ones among them";
        if (f_.notes.empty()) return words + ".";
        words += " in " + figure_text(f_.length().value(), 1) + " s";
        if (draft_.key) words += ", " + to_text(*draft_.key);
        if (!draft_.form.empty()) words += ", form " + to_text(draft_.form);
        if (draft_.bars) {
            const Tempo tempo = tempo_of(beat_at(*draft_.bars, f_.notes.front().onset));
            words += ", about " + figure_text(tempo.value(), 0) + " beats a minute";
        }
        return words + ".";
    }

    void drawings() {
        heading("The line");
        paragraph(
            "Higher is higher, thicker is louder; arcs are bends, waves are vibrato, brackets "
            "underneath are phrases.",
            "small");
        const Seconds last = f_.notes.back().onset;
        if (draft_.bars) {
            const int first = draft_.bars->position_at(f_.notes.front().onset).bar;
            const int end = draft_.bars->position_at(last).bar;
            for (int bar = first >= 1 ? (first - 1) / bars_a_line * bars_a_line + 1 : first;
                 bar <= end;) {
                // A pickup stands on the first line with bars 1 to 4.
                const int to = bar < 1 ? bars_a_line : bar + bars_a_line - 1;
                html_ += line_drawing(
                    draft_, f_, {draft_.bars->bar_span(bar).from, draft_.bars->bar_span(to).to});
                bar = to + 1;
            }
        } else {
            for (Seconds from = f_.notes.front().onset - Seconds(0.2); from <= last;
                 from += seconds_a_line) {
                html_ += line_drawing(draft_, f_, {from, from + seconds_a_line});
            }
        }
        heading("How dense it is");
        html_ += density_drawing(f_);
        paragraph(draft_.bars ? "Notes a second, bar by bar." : "Notes a second.", "small");
        const std::string level = level_drawing(f_);
        if (level.empty()) return;
        heading("How loud it is");
        html_ += level;
        paragraph("Median level of each phrase, dB below full scale, over time.", "small");
    }

    void remarks() {
        std::string topic;
        for (const Remark& r : remarks_on(draft_, f_)) {
            if (r.topic != topic) {
                if (!topic.empty()) html_ += "</table>\n";
                topic = r.topic;
                std::string title = topic;
                title[0] = static_cast<char>(title[0] - 'a' + 'A');
                heading(title);
                html_ += "<table>\n";
            }
            html_ += "<tr><td>" + escaped(r.sentence) + "<br/><span class=\"figure\">" +
                     escaped(r.figure) + "</span></td><td class=\"where\">" + escaped(r.where) +
                     "</td></tr>\n";
        }
        if (!topic.empty()) html_ += "</table>\n";
    }

    void exercises() {
        const std::vector<Exercise> all = exercises_for(draft_, f_);
        if (all.empty()) return;
        heading("To practise");
        html_ += "<table>\n<tr><th>Where</th><th>What</th><th>Speeds, %</th></tr>\n";
        for (const Exercise& e : all) {
            std::string speeds;
            for (const int s : e.speeds)
                speeds += (speeds.empty() ? "" : " \u00b7 ") + std::to_string(s);
            html_ += "<tr><td class=\"where\">" + escaped(e.where) + "</td><td>" + escaped(e.what) +
                     "</td><td>" + escaped(speeds) + "</td></tr>\n";
        }
        html_ += "</table>\n";
    }

    void cautions() {
        heading("Before you use it");
        paragraph(
            "Everything here was measured on a recording or counted from it. A measurement is an "
            "estimate: listen, and let the ear decide.",
            "small");
        paragraph(
            "A solo and a recording have owners. Check the rights that hold where you are before "
            "you hand out copies.",
            "small");
        paragraph("Practise at a volume that you can talk over, and rest a hand that hurts.",
                  "small");
    }

    const Draft& draft_;
    WhichNotes which_;
    LessonFigures f_;
    std::string html_;
};

}  // namespace

std::string escaped(std::string_view text) {
    std::string out;
    for (const char c : text) {
        const auto byte = static_cast<unsigned char>(c);
        if (c == '&')
            out += "&amp;";
        else if (c == '<')
            out += "&lt;";
        else if (c == '>')
            out += "&gt;";
        else if (c == '"')
            out += "&quot;";
        else if (byte < 0x20 && c != '\n' && c != '\t')
            out += '?';
        else
            out += c;
    }
    return out;
}

std::string lesson_html(const Draft& draft, WhichNotes which) {
    return Page(draft, which).write();
}

}  // namespace bentline
