// The page: the line, its phrases to practise, what comes back, what happens, cautions.
#include "engine/lesson/lesson_html.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "engine/export/text_tab.h"
#include "engine/lesson/drawings.h"
#include "engine/lesson/figures.h"
#include "engine/lesson/lesson_text.h"
#include "engine/lesson/practice.h"
#include "engine/lesson/remarks.h"
#include "engine/score/write_score.h"
#include "engine/tab/finger_draft.h"

namespace bentline {
namespace {

constexpr int bars_a_line = 4;
constexpr Seconds seconds_a_line{8.0};

const char* const style = R"(
:root { color-scheme: light dark; --paper: #faf7ef; --ink: #22201c; --soft: #5b5548; --rule: #b9b09c;
  --faint: #e0d9c8; --fill: #8d8471; }
@media (prefers-color-scheme: dark) { :root { --paper: #1d1b18; --ink: #efe9dc; --soft: #b8b09f;
  --rule: #6a6252; --faint: #3a362f; --fill: #9a907c; } }
@media print { :root { color-scheme: light; --paper: #fff; --ink: #000; --soft: #444; --rule: #888;
  --faint: #ccc; --fill: #999; } }
body { background: var(--paper); color: var(--ink); font: 16px/1.45 Georgia, "Times New Roman", serif;
  max-width: 47em; margin: 2em auto; padding: 0 1em; }
h1 { font-size: 1.7em; font-weight: normal; line-height: 1.2; margin: 0; }
h2 { font-size: 1.2em; font-weight: normal; font-style: italic; margin: 1.8em 0 .5em;
  border-bottom: 1px solid var(--rule); break-after: avoid; }
h3 { font-size: 1em; font-weight: bold; margin: 1.2em 0 0; break-after: avoid; }
p { margin: .3em 0; }
h2 + p { break-after: avoid; }
ul { margin: .3em 0; padding-left: 1.2em; }
svg { display: block; width: 100%; height: auto; margin: .3em 0; break-inside: avoid; }
svg text { font: 12px Georgia, serif; fill: var(--soft); }
.wide { overflow-x: auto; }
.tab { font: 13px/1.25 "DejaVu Sans Mono", Consolas, Menlo, monospace; margin: .4em 0;
  overflow-x: auto; }
.phrase { break-inside: avoid; }
.grid { stroke: var(--faint); stroke-width: 1; }
.bar { stroke: var(--rule); stroke-width: 1; }
.thin { stroke: var(--soft); stroke-width: 1; fill: none; }
.note { stroke: var(--ink); fill: none; stroke-linecap: round; stroke-linejoin: round; }
.dot { fill: var(--ink); }
.fill { fill: var(--fill); }
.said { margin: .5em 0; break-inside: avoid; }
.figure, .small { color: var(--soft); font-size: .9em; }
@media (max-width: 44em) { .wide svg { width: 640px; } body { margin: 1em auto; } }
@media print { body { margin: 0; max-width: none; font-size: 11pt; padding: 0; }
  .tab { font-size: 9pt; overflow-x: visible; } .wide { overflow-x: visible; } .wide svg { width: 80%; } }
)";

constexpr int tab_columns = 72;
constexpr std::size_t most_licks = 6;

class Page {
  public:
    Page(const Draft& draft, WhichNotes which)
        : draft_(draft), which_(which), f_(figure_out(draft, which)) {
        for (const DraftNote& note : draft.notes) {
            if (which == WhichNotes::inked_and_pencilled || note.inked()) ids_.push_back(note.id);
        }
        auto score = write_score(draft, which);
        auto fingering = finger_draft(draft, which);
        if (score && fingering && !f_.notes.empty()) {
            score_ = std::move(*score);
            fingering_ = std::move(*fingering);
            for (const Measure& measure : score_->measures) {
                for (const Event& event : measure.events) {
                    if (!event.head) continue;
                    spelled_[event.head->note] = event.head->pitch;
                    for (const GraceNote& grace : event.head->graces) {
                        if (grace.note) spelled_[*grace.note] = grace.pitch;
                    }
                }
            }
        }
    }

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
            line();
            phrases();
            licks();
            remarks();
            density();
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
        if (draft_.key) words += ", " + printed_signs(to_text(draft_.keys()));
        if (!draft_.form.empty()) words += ", form " + to_text(draft_.form);
        if (score_) words += ", about " + figure_text(score_->tempo.value(), 0) + " beats a minute";
        return words + ".";
    }

    void line() {
        heading("The line");
        paragraph(
            "Higher is higher, thicker is louder; arcs are bends, waves are vibrato, brackets "
            "underneath are phrases.",
            "small");
        html_ += "<div class=\"wide\">\n";
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
        html_ += "</div>\n";
    }

    void density() {
        heading("How dense it is");
        html_ += "<div class=\"wide\">\n" + density_drawing(f_) + "</div>\n";
        paragraph(draft_.bars ? "Notes a second, bar by bar." : "Notes a second.", "small");
        const std::string level = level_drawing(f_);
        if (level.empty()) return;
        heading("How loud it is");
        html_ += "<div class=\"wide\">\n" + level + "</div>\n";
        paragraph("Median level of each phrase, dB below full scale, over time.", "small");
    }

    // The tablature of notes [first, last); nothing where there are no bars.
    void tablature(std::size_t first, std::size_t last) {
        if (!score_) return;
        const auto begin = ids_.begin();
        const std::set<NoteId> notes(begin + static_cast<std::ptrdiff_t>(first),
                                     begin + static_cast<std::ptrdiff_t>(last));
        TabPassage passage =
            tab_passage(*score_, *fingering_, notes, {.plain = false, .width = tab_columns});
        if (passage.lines.empty()) return;
        while (passage.lines.ends_with("\n"))
            passage.lines.pop_back();
        html_ += "<pre class=\"tab\">" + escaped(passage.lines) + "</pre>\n";
        signs_.merge(passage.signs);
    }

    // As the score spells it, where there is one.
    std::string name_of(std::size_t note) const {
        const auto spelled = spelled_.find(ids_[note]);
        return spelled != spelled_.end()
                   ? printed_signs(to_text(spelled->second))
                   : key_name(f_.notes[note].key, draft_.key_at(f_.notes[note].onset));
    }

    // "F4 to D♭5"; "on F4" where that is all.
    std::string range_of(std::size_t first, std::size_t last) const {
        std::size_t low = first, high = first;
        for (std::size_t i = first; i < last; ++i) {
            if (f_.notes[i].key < f_.notes[low].key) low = i;
            if (f_.notes[high].key < f_.notes[i].key) high = i;
        }
        return f_.notes[low].key == f_.notes[high].key ? "on " + name_of(low)
                                                       : name_of(low) + " to " + name_of(high);
    }

    // "80 · 90 · 100 %", and as the metronome counts them.
    std::string speeds_text(const std::vector<int>& speeds) const {
        std::string percent, beats;
        for (const int s : speeds) {
            percent += (percent.empty() ? "" : " \u00b7 ") + std::to_string(s);
            if (!score_) continue;
            beats += (beats.empty() ? "" : " \u00b7 ") +
                     figure_text(score_->tempo.value() * s / 100.0, 0);
        }
        percent += " %";
        return beats.empty() ? percent : percent + " (" + beats + " beats a minute)";
    }

    // "bar 6, beat 2: G♭5, fret 14 on string 1, bent up ¼ tone (50 c)".
    std::string copied(std::size_t i, const std::vector<std::string>& words) const {
        const Note& note = f_.notes[i];
        std::string text;
        if (draft_.bars) {
            // A note that comes up to a fifth of a beat early is meant for the beat.
            const BarBeat place =
                draft_.bars->position_at(note.onset + beat_at(*draft_.bars, note.onset) * 0.2);
            text = "bar " + std::to_string(place.bar) + ", beat " +
                   figure_text(std::floor(place.beat.value()) + 1.0, 0);
        } else {
            text = place_text(note.onset, {});
        }
        text += ": " + name_of(i);
        const FingeredNote* fingered = fingering_ ? fingering_->of(ids_[i]) : nullptr;
        if (fingered != nullptr && fingered->spot) {
            text += ", fret " + std::to_string(fingered->spot->fret) + " on string " +
                    std::to_string(fingered->spot->string);
        }
        for (const std::string& w : words)
            text += ", " + w;
        return text;
    }

    void phrases() {
        const std::vector<PhraseToPractise> order = phrases_in_order(draft_, f_);
        heading("Phrase by phrase");
        paragraph(
            "In the order to take them up: the one with the most time between its notes first, the "
            "fastest last. Loop a phrase at the first speed until every note speaks, then go up a "
            "step. Then join it to its neighbours.",
            "small");
        int number = 0;
        for (const PhraseToPractise& p : order) {
            html_ += "<section class=\"phrase\">\n<h3>" + std::to_string(++number) + ". " +
                     escaped(p.where) + "</h3>\n";
            std::string figures =
                counted(p.last - p.first, "note") + ", " + range_of(p.first, p.last);
            if (p.busiest > 0.0)
                figures += ", " + figure_text(p.busiest, 1) + " a second at the closest";
            paragraph(figures + ". Speeds: " + speeds_text(p.speeds) + ".", "figure");
            tablature(p.first, p.last);
            std::string items;
            for (std::size_t i = p.first; i < p.last; ++i) {
                const auto words =
                    inflections_in_words(f_.notes[i], draft_.key_at(f_.notes[i].onset));
                if (!words.empty()) items += "<li>" + escaped(copied(i, words)) + "</li>\n";
            }
            if (!items.empty()) html_ += "<ul class=\"figure\">\n" + items + "</ul>\n";
            html_ += "</section>\n";
        }
        std::string legend;
        for (const std::string& sign : signs_)
            legend += (legend.empty() ? "In the tablature: " : ", ") + sign;
        if (!legend.empty()) paragraph(legend + ".", "small");
    }

    void licks() {
        bool headed = false;
        std::size_t shown = 0;
        for (const Motif& motif : f_.motifs) {
            if (motif.likeness == Likeness::rhythm || shown == most_licks) continue;
            if (!headed) {
                heading("Licks that come back");
                paragraph(
                    "Learn each once, then find it again where it comes back; take it to other "
                    "keys.",
                    "small");
                headed = true;
            }
            ++shown;
            std::vector<Seconds> places;
            std::string moves;
            for (const MotifPlace& place : motif.places) {
                places.push_back(f_.notes[place.first].onset);
                if (place.transposed == 0) continue;
                moves += (moves.empty() ? "" : ", ") + place_text(places.back(), draft_.bars) +
                         (place.transposed > 0 ? ": up " : ": down ") +
                         counted(static_cast<std::size_t>(std::abs(place.transposed)), "fret");
            }
            html_ += "<section class=\"phrase\">\n<h3>" +
                     escaped(places_text(places, draft_.bars)) + "</h3>\n";
            paragraph(counted(motif.notes, "note") + ", " + std::to_string(motif.places.size()) +
                          " times" + (moves.empty() ? "" : " (" + moves + ")") + ".",
                      "figure");
            tablature(motif.places.front().first, motif.places.front().first + motif.notes);
            html_ += "</section>\n";
        }
    }

    void said(const std::string& words, const std::string& figure, const std::string& where) {
        html_ += "<div class=\"said\">" + escaped(words) + "<br/><span class=\"figure\">" +
                 escaped(figure) + (figure.empty() || where.empty() ? "" : " \u00b7 ") +
                 escaped(where) + "</span></div>\n";
    }

    void remarks() {
        std::string topic;
        heading("What the solo does");
        for (const Remark& r : remarks_on(draft_, f_)) {
            if (r.topic != topic) {
                topic = r.topic;
                std::string title = topic;
                title[0] = static_cast<char>(title[0] - 'a' + 'A');
                html_ += "<h3>" + escaped(title) + "</h3>\n";
            }
            said(r.sentence, r.figure, r.where);
        }
    }

    void exercises() {
        const std::vector<Exercise> all = exercises_for(draft_, f_);
        if (all.empty()) return;
        heading("The hard places");
        for (const Exercise& e : all)
            said(e.what, speeds_text(e.speeds), e.where);
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
    std::vector<NoteId> ids_;  // of f_.notes
    std::optional<Score> score_;
    std::optional<DraftFingering> fingering_;  // where there is a score
    std::map<NoteId, SpelledPitch> spelled_;
    std::set<std::string> signs_;  // that the tablature uses
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
