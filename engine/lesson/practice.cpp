// What to practise, where, and how fast to begin.
#include <algorithm>
#include <cmath>
#include <tuple>

#include "engine/lesson/lesson_text.h"
#include "engine/lesson/remarks.h"

namespace bentline {
namespace {

constexpr std::size_t most_exercises = 6;
constexpr double worth_practising = 20.0;  // cents of bend or vibrato: melodies sound out of tune
                                           // beyond 20 to 25
constexpr double comfortable = 4.0;        // notes a second (common practice, no source)

}  // namespace

std::vector<int> speed_steps(double notes_per_second) {
    const double start = notes_per_second > 0.0 ? comfortable / notes_per_second : 1.0;
    int percent = static_cast<int>(std::floor(std::clamp(start, 0.4, 0.8) * 10.0)) * 10;
    std::vector<int> steps;
    for (; percent < 100; percent += 10)
        steps.push_back(percent);
    steps.push_back(100);
    return steps;
}

std::vector<Exercise> exercises_for(const Draft& draft, const LessonFigures& f) {
    std::vector<Exercise> all;
    const auto around = [&](std::size_t first, std::size_t last) {
        SecondsRange span{f.notes[first].onset, f.notes[last - 1].offset};
        if (!draft.bars) return span;
        return SecondsRange{
            draft.bars->bar_span(draft.bars->position_at(span.from).bar).from,
            draft.bars->bar_span(draft.bars->position_at(span.to - Seconds(1e-6)).bar).to};
    };
    const auto add = [&](SecondsRange span, std::string what, double per_second) {
        std::vector<Seconds> bars;
        if (draft.bars) {
            const int last = draft.bars->position_at(span.to - Seconds(1e-6)).bar;
            for (int bar = draft.bars->position_at(span.from).bar; bar <= last; ++bar)
                bars.push_back(draft.bars->bar_span(bar).from);
        }
        std::string where = draft.bars ? places_text(bars, draft.bars)
                                       : figure_text(span.from.value(), 1) + "\u2013" +
                                             figure_text(span.to.value(), 1) + " s";
        all.push_back({std::move(where), span, std::move(what), speed_steps(per_second)});
    };
    // The three fastest stretches, as they come in the solo.
    std::vector<const Stretch*> fast;
    for (const Stretch& s : f.stretches) {
        if (s.notes >= 3) fast.push_back(&s);
    }
    std::stable_sort(fast.begin(), fast.end(), [](const Stretch* a, const Stretch* b) {
        return a->per_second > b->per_second;
    });
    fast.resize(std::min<std::size_t>(fast.size(), 3));
    std::sort(fast.begin(), fast.end(),
              [](const Stretch* a, const Stretch* b) { return a->span.from < b->span.from; });
    for (const Stretch* s : fast) {
        add(s->span,
            "Loop it until every note speaks, then go up a step (" + figure_text(s->per_second, 1) +
                " notes a second at full speed).",
            s->per_second);
    }
    if (!f.sweeps.empty()) {
        const Sweep& s = f.sweeps.front();
        add(around(s.first, s.last),
            "The sweep: one motion of the pick through the strings, each finger lifted as the next "
            "note comes.",
            s.per_second);
    }
    for (const InflectionFigures& k : f.inflections) {
        if (k.sizes.empty() || k.sizes.size() != k.notes.size()) continue;
        const auto largest = static_cast<std::size_t>(
            std::max_element(k.sizes.begin(), k.sizes.end()) - k.sizes.begin());
        const std::size_t note = k.notes[largest];
        if (k.sizes[largest] < worth_practising) continue;
        const std::string name = key_name(f.notes[note].key, draft.key);
        if (k.kind == "bend") {
            add(around(note, note + 1),
                "The bend on " + name + ": fret the target first to hear it, then bend up to it (" +
                    figure_text(k.sizes[largest], 0) + " cents on the record).",
                0.0);
        }
        if (k.kind == "vibrato") {
            add(around(note, note + 1),
                "The vibrato on " + name + ": swing evenly, " + figure_text(k.sizes[largest], 0) +
                    " cents to each side, and stop in tune.",
                0.0);
        }
    }
    all.resize(std::min(all.size(), most_exercises));
    return all;
}

}  // namespace bentline
