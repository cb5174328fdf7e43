// Directions and harmonies.
#include "engine/export/musicxml_marks.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "engine/export/musicxml_chord.h"
#include "engine/export/musicxml_note.h"
#include "engine/export/number_text.h"
#include "engine/export/xml_text.h"

namespace bentline {
namespace {

const char* word_for(const Sign& sign) {
    if (const auto* scoop = std::get_if<ScoopSign>(&sign))
        return scoop->from_above ? "plop" : "scoop";
    if (const auto* fall = std::get_if<FallSign>(&sign)) return fall->upward ? "doit" : "fall";
    return nullptr;
}

// One direction, open: its type is added by the caller before the rest is.
class Direction {
  public:
    Direction(pugi::xml_node measure, const char* placement)
        : node_(measure.append_child("direction")) {
        with(node_, "placement", placement);
    }
    pugi::xml_node type() { return node_.append_child("direction-type"); }
    // Ends it; returns its <sound> where one is wanted.
    pugi::xml_node close(Ticks later, bool sound = false) {
        if (later > Ticks(0)) add_text(node_, "offset", later.value());
        add_text(node_, "staff", 1);
        return sound ? node_.append_child("sound") : pugi::xml_node();
    }

  private:
    pugi::xml_node node_;
};

class Writer {
  public:
    Writer(pugi::xml_node measure, Ticks later) : measure_(measure), later_(later) {}

    void operator()(const TempoMark& mark) {
        Direction d(measure_, "above");
        pugi::xml_node metronome = d.type().append_child("metronome");
        const Metre& m = mark.metre;
        add_text(metronome, "beat-unit", type_name(m.compound() ? m.unit / 2 : m.unit));
        if (m.compound()) metronome.append_child("beat-unit-dot");
        add_text(metronome, "per-minute", std::to_string(std::lround(mark.tempo.value())));
        with(d.close(later_, true), "tempo",
             short_text(mark.tempo.value() * m.quarters_per_beat(), 2));
    }
    void operator()(const SwingMark& mark) {
        Direction d(measure_, "above");
        const bool even = mark.ratio <= 1.0;
        add_text(d.type(), "words",
                 even ? "Straight eighths" : "Swing (" + short_text(mark.ratio, 1) + " : 1)");
        pugi::xml_node swing = d.close(later_, true).append_child("swing");
        if (even) {
            swing.append_child("straight");
            return;
        }
        const long tenths = std::max(1L, std::lround(mark.ratio * 10.0));
        const long common = std::gcd(tenths, 10L);
        add_text(swing, "first", tenths / common);
        add_text(swing, "second", 10 / common);
        add_text(swing, "swing-type", "eighth");
    }
    void operator()(const SectionMark& mark) {
        Direction d(measure_, "above");
        add_text(d.type(), "rehearsal", xml_safe(mark.letter));
        d.close(later_);
    }
    void operator()(const ChordSymbol& chord) {
        pugi::xml_node harmony = add_harmony(measure_, chord.text);
        if (!harmony) {
            (*this)(WordsMark{chord.text, false});
            return;
        }
        if (later_ > Ticks(0)) add_text(harmony, "offset", later_.value());
        add_text(harmony, "staff", 1);
    }
    void operator()(const DynamicMark& mark) {
        Direction d(measure_, "below");
        d.type().append_child("dynamics").append_child(to_text(mark.dynamic));
        d.close(later_);
    }
    void operator()(const HairpinMark& mark) {
        Direction d(measure_, "below");
        pugi::xml_node wedge = d.type().append_child("wedge");
        using End = HairpinMark::End;
        with(wedge, "type",
             mark.end == End::grows   ? "crescendo"
             : mark.end == End::fades ? "diminuendo"
                                      : "stop");
        with(wedge, "number", std::to_string(mark.number));
        d.close(later_);
    }
    void operator()(const WordsMark& mark) {
        Direction d(measure_, "above");
        pugi::xml_node words = add_text(d.type(), "words", xml_safe(mark.words));
        if (mark.small) {
            with(words, "font-style", "italic");
            with(words, "font-size", "7");
        }
        d.close(later_);
    }

  private:
    pugi::xml_node measure_;
    Ticks later_;
};

}  // namespace

std::vector<Mark> marks_of(const Score& score, std::size_t m, bool plain) {
    const Measure& measure = score.measures[m];
    std::vector<Mark> marks;
    if (m == 0) {
        marks.push_back({Ticks(0), TempoMark{score.tempo, measure.metre}});
        if (score.swing) marks.push_back({Ticks(0), SwingMark{*score.swing}});
    }
    if (measure.swing) marks.push_back({Ticks(0), SwingMark{*measure.swing}});
    if (!measure.section.empty()) marks.push_back({Ticks(0), SectionMark{measure.section}});
    // Chords count from the bar's first beat; a pickup is written from later on.
    for (const ChordSymbol& chord : measure.chords)
        marks.push_back({std::max(Ticks(0), chord.at - measure.skipped), chord});
    for (const DynamicMark& dynamic : measure.dynamics)
        marks.push_back({dynamic.at, dynamic});
    for (std::size_t h = 0; h < score.hairpins.size(); ++h) {
        const Hairpin& pin = score.hairpins[h];
        const int number = 1 + static_cast<int>(h % 2);
        using End = HairpinMark::End;
        if (pin.first_measure == m) {
            marks.push_back({measure.events[pin.first_event].start,
                             HairpinMark{pin.grows ? End::grows : End::fades, number}});
        }
        if (pin.last_measure == m) {
            const Event& last = measure.events[pin.last_event];
            marks.push_back({last.start + last.length, HairpinMark{End::stop, number}});
        }
    }
    for (const Event& event : measure.events) {
        if (plain || !event.head) continue;
        for (const Sign& sign : event.head->signs) {
            if (const char* word = word_for(sign))
                marks.push_back({event.start, WordsMark{word, true}});
        }
    }
    std::stable_sort(marks.begin(), marks.end(),
                     [](const Mark& a, const Mark& b) { return a.at < b.at; });
    return marks;
}

void add_mark(pugi::xml_node measure, const Mark& mark, Ticks now) {
    std::visit(Writer(measure, mark.at - now), mark.what);
}

}  // namespace bentline
