// What every part of the view is handed: the state, the pens, the places, and where intents go.
#pragma once

#include <vector>

#include "ui/window/intent.h"
#include "ui/window/kit.h"
#include "ui/window/layout.h"
#include "ui/window/scratch.h"
#include "ui/window/state.h"

namespace bentline::window {

struct Page {
    const State& s;
    Scratch& scratch;
    Kit kit;
    Layout l;
    std::vector<Intent>& out;

    void ask(Intent intent) const { out.push_back(std::move(intent)); }
    // The key that a command is bound to, as people write it: "Ctrl S". Empty: none.
    std::string key_of(const char* command) const;
};

// Is the manuscript shown? It needs bars.
bool shows_manuscript(const State& s);
// How high it must be, points.
float manuscript_needs(const State& s);

// One function a part; each draws inside its own box of the layout.
void draw_heading(const Page& page);
void draw_overview(const Page& page);
void draw_margin(const Page& page);
void draw_chart(const Page& page);
void draw_without_bars(const Page& page, const Box& box);  // in place of the chart
void draw_bench(const Page& page);
void draw_welcome(const Page& page);  // on the bench while nothing is open
void draw_manuscript(const Page& page);
void draw_swell(const Page& page, const Axes& axes);  // in place of a manuscript too small
void draw_stage(const Page& page);
void draw_slip(const Page& page);
void draw_transport(const Page& page);
void draw_overlay(const Page& page);

// Parts of the bench.
void draw_spectrum(const Page& page, const Axes& axes);
void draw_rows(const Page& page, const Axes& axes);
void draw_key_names(const Page& page, const Axes& axes);  // where another begins
void draw_counting(const Page& page, const Axes& axes);
void draw_line(const Page& page, const Axes& axes);
void draw_notes(const Page& page, const Axes& axes);
void draw_signs(const Page& page, const Axes& axes);
void hold_grid(const Page& page, const Axes& axes);  // the mouse on the grid

// The metre and the sections stand in the chart; bar numbers and chords over the grid.
inline bool stands_elsewhere(const engraving::Mark& mark) {
    using engraving::Part;
    return mark.part == Part::metre || mark.part == Part::bar_number || mark.part == Part::chord ||
           mark.part == Part::section;
}

// Words for figures.
std::string time_text(Seconds t);  // "1:23.4"
// The key that was told, else the one that the written notes propose once they have all been
// pencilled; empty: neither is there yet.
std::optional<Key> shown_key(const State& s, Seconds t);
std::string place_text(const State& s, Seconds t);           // "bar 7:2" or "1:23.4"
std::string degree_words(const State& s, const Note& note);  // "♭3 of Fm7"; empty: no chord tone
std::string form_words(const Form& form);                    // "AABA × 3" for choruses alike
// The bars at which the choruses of a form begin: where nearly the same letters come again after
// the same number of bars, up to its end. Empty where it is played once.
std::vector<int> chorus_bars(const Form& form);
std::string signed_figure(double v);  // "+4", "−12", "0"
std::string signed_cents(Cents c);    // "+4 c", "−12 c"
std::string inflection_text(const State& s, const Note& note,
                            const Inflection& i);  // "bend ½, 98 c"

}  // namespace bentline::window
