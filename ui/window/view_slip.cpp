// The slip under the bench: everything measured about the picked note, and why; or about a span.
#include <algorithm>
#include <cmath>
#include <string>
#include <utility>
#include <vector>

#include "ui/window/page.h"
#include "ui/window/printed.h"
#include "ui/window/spelling.h"

namespace bentline::window {
namespace {

void state_mark(const Kit& k, const Box& box, bool inked) {
    if (inked) {
        k.fill(box, with_alpha(k.c.ink, 46));
        k.frame(box, k.c.ink, 1.6F);
        k.fill({box.x0, box.y0, box.x0 + k.pt(3), box.y1}, k.c.ink);
    } else {
        k.dashed_frame(box, k.c.pencil, 1.3F);
    }
}

void note_figures(const Page& page, const Box& b, const DraftNote& note) {
    const Kit& k = page.kit;
    const State& s = page.s;
    const std::string name = spelled_with_octave(note.note.key, shown_key(s, note.note.onset));
    k.text(k.f.title, b.x0, b.y0 + k.pt(2), k.c.ink, name);
    const std::string degree = degree_words(s, note.note);
    const float behind = b.x0 + k.size(k.f.title, name).x + k.pt(10);
    if (behind + k.size(k.f.small, degree).x <= b.x1)
        k.text(k.f.small, behind, k.beside(k.f.title, b.y0 + k.pt(2), k.f.small), k.c.span, degree);
    const Box mark{b.x0, b.y0 + k.pt(36), b.x0 + k.pt(26), b.y0 + k.pt(46)};
    state_mark(k, mark, note.inked());
    k.text(k.f.text, mark.x1 + k.pt(7), b.y0 + k.pt(33), k.c.ink,
           note.inked() ? "inked" : "pencilled");
    std::string sure;
    if (note.note.confidence) sure = printed("estimate, %.0f %% sure", *note.note.confidence * 100);
    k.text_in(k.f.small, {b.x0, b.y0 + k.pt(53), b.x1, b.y0 + k.pt(70)}, Align::left, k.c.soft,
              sure);
    std::string figures;
    if (note.note.cents) figures += signed_cents(*note.note.cents);
    if (note.note.level)
        figures += (figures.empty() ? "" : ",  ") + signed_figure(note.note.level->value()) + " dB";
    const FingeredNote* fingered = s.written.fingering ? s.written.fingering->of(note.id) : nullptr;
    if (fingered != nullptr && fingered->spot) {
        figures += (figures.empty() ? "" : ",  ") +
                   ("string " + std::to_string(fingered->spot->string)) + " fret " +
                   std::to_string(fingered->spot->fret);
    }
    k.text_in(k.f.small, {b.x0, b.y0 + k.pt(70), b.x1, b.y0 + k.pt(87)}, Align::left, k.c.soft,
              figures);
}

// "Or E♭5 12 %, F4 8 % (Tab); none 5 % (Backspace)"
std::string readings_words(const Page& page, const Note& note) {
    std::string pitches, none;
    for (const Alternative& other : note.alternatives) {
        const std::string chance = printed(" %.0f %%", 100 * other.probability);
        if (!other.key) {
            none = "none" + chance + " (" + page.key_of("discard") + ")";
        } else {
            pitches += pitches.empty() ? "" : ", ";
            pitches += *other.key == note.key
                           ? other.reason
                           : spelled_with_octave(*other.key, shown_key(page.s, note.onset));
            pitches += chance;
        }
    }
    if (!pitches.empty()) pitches += " (" + page.key_of("reading") + ")";
    return "Or " + pitches + (pitches.empty() || none.empty() ? "" : "; ") + none;
}

void note_words(const Page& page, const Box& b, const DraftNote& note) {
    const Kit& k = page.kit;
    const State& s = page.s;
    const auto row = [&](int i) {
        const float y = b.y0 + k.pt(17.6F * static_cast<float>(i));
        return Box{b.x0, y, b.x1, y + k.pt(17.6F)};
    };
    const double length = (note.note.offset - note.note.onset).value();
    const std::string place = place_text(s, note.note.onset);
    const std::string lasts = printed(",  %.0f ms long", length * 1000);
    std::string first = place + printed(",  %.3f s", note.note.onset.value()) + lasts;
    if (k.size(k.f.text, first).x > b.w()) first = place + lasts;
    k.text_in(k.f.text, row(0), Align::left, k.c.ink, first);
    int line = 1;
    const auto& all = note.note.inflections;
    for (std::size_t i = 0; i < all.size() && line < 5; ++i) {
        if (line == 4 && i + 1 < all.size()) {
            k.text_in(k.f.text, row(line++), Align::left, k.c.soft,
                      "and " + std::to_string(all.size() - i) + " more");
            break;
        }
        std::string words = inflection_text(s, note.note, all[i]);
        if (all[i].confidence) words += printed("  (%.0f %%)", *all[i].confidence * 100);
        const float w = std::min(k.size(k.f.text, words).x + 1, b.w());
        Box r = row(line++);
        k.text_in(k.f.text, {r.x0, r.y0, r.x0 + w, r.y1}, Align::left, k.c.ink, words);
        r.x0 += w + k.pt(10);
        // The reason where there is room for all of it; half a reason is none.
        if (k.size(k.f.small, all[i].reason).x < r.w()) {
            const float y = k.beside(k.f.text, r.mid_y() - k.f.text->FontSize / 2, k.f.small);
            k.text(k.f.small, r.x0, y, k.c.soft, all[i].reason);
        }
    }
    if (line < 5 && k.size(k.f.small, note.note.reason).x < b.w()) {
        k.text_in(k.f.small, row(line++), Align::left, k.c.soft, note.note.reason);
    }
    if (line < 5 && !note.inked() && !note.note.alternatives.empty()) {
        const std::string words = readings_words(page, note.note);
        if (k.size(k.f.text, words).x < b.w())
            k.text_in(k.f.text, row(line), Align::left, k.c.span, words);
    }
}

void note_handles(const Page& page, const Box& b) {
    const Kit& k = page.kit;
    struct Handle {
        const char* label;
        const char* command;
        Intent intent;
    };
    const Handle handles[] = {
        {"Ink", "ink-on", intents::InkOn{}},
        {"Discard", "discard", intents::Discard{}},
        {"Bend", "bend-more", intents::StepBend{1}},
        {"Vibrato", "vibrato", intents::Turn{"vibrato"}},
        {"Slide in", "slide-in", intents::Turn{"slide_in"}},
        {"Slide on", "slide-next", intents::Turn{"slide_to_next"}},
        {"Split", "split", intents::SplitHere{}},
        {"Join", "join", intents::JoinNext{}},
    };
    const float w = b.w() / 2, h = k.pt(23);
    int i = 0;
    for (const Handle& handle : handles) {
        const int row = i / 2;
        const float x = b.x0 + static_cast<float>(i % 2) * w,
                    y = b.y0 + static_cast<float>(row) * h;
        if (k.word(handle.command, {x, y, x + w - k.pt(14), y + h - k.pt(1)}, handle.label,
                   page.key_of(handle.command), false, true, Align::left)) {
            page.ask(handle.intent);
        }
        ++i;
    }
}

void measured_words(const Page& page, const Box& b, const Measured& m) {
    const Kit& k = page.kit;
    k.text(k.f.title, b.x0, b.y0 + k.pt(2), k.c.ink, "Measured");
    const double length = (m.span.to - m.span.from).value();
    std::string first = place_text(page.s, m.span.from) + printed(",  %.0f ms", length * 1000);
    if (m.first && m.last) {
        const auto named = [&](Pitch p) {
            const MidiKey key = nearest_key(p);
            return spelled_with_octave(key, shown_key(page.s, m.span.from)) + " " +
                   signed_cents(p - Pitch(key));
        };
        first += ",  from " + named(*m.first) + " to " + named(*m.last);
    }
    k.text_in(k.f.text, {b.x0, b.y0 + k.pt(34), b.x1, b.y0 + k.pt(52)}, Align::left, k.c.ink,
              first);
    std::string second = "There is no line to measure here";
    if (m.moved) {
        second =
            "moves by " + signed_cents(*m.moved) + printed(",  spans %.0f c", m.spread->value());
        // Over several notes there is no swing around one pitch: a fourth is beyond any vibrato.
        if (m.vibrato_rate && m.spread->value() < 500.0) {
            second += printed(",  swings at %.1f Hz by ±%.0f c", m.vibrato_rate->value(),
                              m.vibrato_depth->value());
        }
    }
    k.text_in(k.f.text, {b.x0, b.y0 + k.pt(54), b.x1, b.y0 + k.pt(72)}, Align::left, k.c.ink,
              second);
    k.text_in(k.f.small, {b.x0, b.y0 + k.pt(74), b.x1, b.y0 + k.pt(92)}, Align::left, k.c.soft,
              "An estimate: let your ear decide. Esc puts it away.");
}

// What the mouse does, and what stands beside the grid, while nothing is in hand.
void what_helps(const Page& page, const Box& b) {
    const Kit& k = page.kit;
    std::vector<std::pair<std::string, std::string>> rows{
        {"Drag along the line", "measures it: cents, bends, vibrato"},
        {"Drag above the grid", "loops; on the chart, whole bars"},
        {"Double-click the grid", "adds a note; drag the note in hand, or its ends, to mend it"},
        {"Beside the names", "string and fret at hand, degree in the chord"},
        {"Bracket, strip", "the register that is followed, and where on the stage"}};
    const State& s = page.s;
    if (shows_manuscript(s) && s.manuscript && s.manuscript->thinned)
        rows.emplace_back("Grace notes", "that have no room on the staff are left out: " +
                                             page.key_of("closer") + " looks closer");
    const float h = b.h() / 6;
    float y = b.y0;
    for (const auto& [what, does] : rows) {
        k.text_in(k.f.small, {b.x0, y, b.x0 + k.pt(128), y + h}, Align::left, k.c.ink, what);
        k.text_in(k.f.small, {b.x0 + k.pt(134), y, b.x1, y + h}, Align::left, k.c.soft, does);
        y += h;
    }
}

}  // namespace

void draw_slip(const Page& page) {
    const Kit& k = page.kit;
    const State& s = page.s;
    const Box& whole = page.l.slip;
    k.line(whole.x0 + k.pt(10), whole.y0, whole.x1 - k.pt(10), whole.y0, k.c.rule, 1);
    const Box b{whole.x0 + k.pt(14), whole.y0 + k.pt(6), whole.x1 - k.pt(10), whole.y1 - k.pt(4)};
    if (!s.open) {
        k.text_in(k.f.small, b, Align::centre, k.c.soft,
                  "Here stands what is measured about a note or a stretch of the line, and why.");
        return;
    }
    if (s.measured) {
        measured_words(page, b, *s.measured);
        return;
    }
    // What the mouse points at is told while it points, even beside another pick.
    const DraftNote* pointed = s.draft.notes.find(page.scratch.hovered);
    if (const DraftNote* note = pointed != nullptr ? pointed : s.picked()) {
        const float left = k.pt(176), right = k.pt(252);
        note_figures(page, {b.x0, b.y0, b.x0 + left, b.y1}, *note);
        note_words(page, {b.x0 + left + k.pt(8), b.y0 + k.pt(2), b.x1 - right - k.pt(10), b.y1},
                   *note);
        if (note == s.picked()) note_handles(page, {b.x1 - right, b.y0, b.x1, b.y1});
        return;
    }
    const std::size_t all = s.draft.notes.size();
    const auto inked = static_cast<std::size_t>(std::count_if(
        s.draft.notes.begin(), s.draft.notes.end(), [](const DraftNote& n) { return n.inked(); }));
    k.text(k.f.title, b.x0, b.y0 + k.pt(2), k.c.ink,
           std::to_string(all) + (all == 1 ? " note" : " notes"));
    const auto legend = [&](float y, bool ink, const std::string& words) {
        state_mark(k, {b.x0, y + k.pt(4), b.x0 + k.pt(26), y + k.pt(14)}, ink);
        k.text(k.f.text, b.x0 + k.pt(34), y, k.c.ink, words);
    };
    legend(b.y0 + k.pt(36), true, std::to_string(inked) + " inked: you confirmed them");
    legend(b.y0 + k.pt(58), false,
           std::to_string(all - inked) + " pencilled: proposed, not confirmed");
    what_helps(page, {b.x0 + k.pt(272), b.y0, b.x1, b.y1});
}

}  // namespace bentline::window
