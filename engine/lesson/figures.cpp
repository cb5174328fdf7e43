// The figures, one after the other.
#include "engine/lesson/figures.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>

#include "engine/lesson/lesson_text.h"
#include "engine/tab/fingering.h"

namespace bentline {
namespace {

constexpr Seconds without_bars{4.0};  // length of a stretch
// A fast arpeggio: at least eight notes a second (common practice, no source).
constexpr Seconds sweep_step{0.125};
// An answer follows within this many beats (or half as many seconds).
constexpr double answer_beats = 8.0;
constexpr std::size_t answer_steps = 3;
constexpr double answer_apart = 5.0;  // semitones: another register

Stretch stretch_of(const std::vector<Note>& notes, std::string name, SecondsRange span) {
    Stretch s;
    s.name = std::move(name);
    s.span = span;
    std::vector<double> levels;
    for (const Note& n : notes) {
        if (!span.contains(n.onset)) continue;
        ++s.notes;
        s.lowest = s.lowest ? std::min(*s.lowest, n.key) : n.key;
        s.highest = s.highest ? std::max(*s.highest, n.key) : n.key;
        if (n.level) levels.push_back(n.level->value());
    }
    if (!levels.empty()) s.level = Decibels(median_of(levels));
    s.per_second = static_cast<double>(s.notes) / (span.to - span.from).value();
    return s;
}

std::vector<Stretch> stretches_of(const Draft& draft, const std::vector<Note>& notes) {
    std::vector<Stretch> all;
    if (notes.empty()) return all;
    if (!draft.bars) {
        const auto first = static_cast<int>(std::floor(notes.front().onset / without_bars));
        const auto last = static_cast<int>(std::floor(notes.back().onset / without_bars));
        for (int i = first; i <= last; ++i) {
            const Seconds from = without_bars * i;
            const Seconds to = from + without_bars;
            all.push_back(stretch_of(
                notes, figure_text(from.value(), 0) + "\u2013" + figure_text(to.value(), 0) + " s",
                {from, to}));
        }
        return all;
    }
    const int first = draft.bars->position_at(notes.front().onset).bar;
    const int last = draft.bars->position_at(notes.back().onset).bar;
    for (int bar = first; bar <= last; ++bar) {
        all.push_back(stretch_of(notes, "bar " + std::to_string(bar), draft.bars->bar_span(bar)));
    }
    return all;
}

std::vector<Stretch> sections_of(const Draft& draft, const std::vector<Note>& notes) {
    std::vector<Stretch> all;
    if (!draft.bars || notes.empty()) return all;
    for (const Section& s : draft.form) {
        const int last = s.first_bar + s.bars - 1;
        const SecondsRange span{draft.bars->bar_span(s.first_bar).from,
                                draft.bars->bar_span(last).to};
        all.push_back(stretch_of(
            notes,
            s.letter + ", bars " + std::to_string(s.first_bar) + "\u2013" + std::to_string(last),
            span));
    }
    return all;
}

std::vector<RepeatedNote> repeated_notes(const LessonFigures& f) {
    std::vector<RepeatedNote> all;
    for (const SoloPhrase& p : f.phrases) {
        for (std::size_t i = p.first; i < p.last;) {
            std::size_t end = i + 1;
            while (end < p.last && f.notes[end].key == f.notes[i].key)
                ++end;
            if (end - i >= 3) all.push_back({i, end});
            i = end;
        }
    }
    return all;
}

std::vector<Sweep> sweeps_of(const Draft& draft, const std::vector<Note>& notes) {
    std::vector<Sweep> all;
    for (const NoteSpan& s : find_sweeps(notes, draft.neck, sweep_step)) {
        const Seconds length = notes[s.last - 1].onset - notes[s.first].onset;
        all.push_back({s.first, s.last, notes[s.first].key < notes[s.last - 1].key,
                       static_cast<double>(s.last - s.first - 1) / length.value()});
    }
    return all;
}

double middle_key(const LessonFigures& f, const SoloPhrase& p) {
    std::vector<double> keys;
    for (std::size_t i = p.first; i < p.last; ++i)
        keys.push_back(f.notes[i].key.value());
    return median_of(keys);
}

std::vector<Reply> replies_of(const LessonFigures& f, bool in_beats) {
    std::vector<Reply> all;
    for (std::size_t i = 0; i + 1 < f.phrases.size(); ++i) {
        const SoloPhrase& call = f.phrases[i];
        const SoloPhrase& answer = f.phrases[i + 1];
        if (call.size() < 2 || answer.size() < 2) continue;
        const double gap = f.times[answer.first] - f.times[call.last - 1];
        if (gap > (in_beats ? answer_beats : 0.5 * answer_beats)) continue;
        const double ratio = (answer.span.to - answer.span.from) / (call.span.to - call.span.from);
        const bool as_long = ratio > 1.0 / 1.8 && ratio < 1.8;
        const std::size_t most = std::min(call.size(), answer.size()) - 1;
        const std::size_t figure =
            steps_alike(f.notes, f.times, call.first, answer.first, most, false);
        const std::size_t rhythm =
            steps_alike(f.notes, f.times, call.first, answer.first, most, true);
        const double apart = middle_key(f, answer) - middle_key(f, call);
        Reply reply{i, Reply::By::figure, figure, apart};
        if (figure < answer_steps) {
            reply.by = Reply::By::rhythm;
            reply.steps = rhythm;
            if (rhythm < answer_steps + 1 || !as_long) {
                if (!as_long || std::abs(apart) < answer_apart || call.size() > 16) continue;
                reply.by = Reply::By::place;
                reply.steps = 0;
            }
        }
        all.push_back(reply);
    }
    return all;
}

// The size of an inflection in its unit, where it was measured.
std::optional<double> size_of(const Note& note, const InflectionKind& what) {
    const int key = note.key.value();
    if (const auto* b = std::get_if<Bend>(&what)) return b->size.value();
    if (const auto* v = std::get_if<Vibrato>(&what)) return v->depth.value();
    if (const auto* t = std::get_if<Trill>(&what)) return t->semitones;
    if (const auto* s = std::get_if<SlideIn>(&what); s && s->from) return key - s->from->value();
    if (const auto* s = std::get_if<SlideOut>(&what); s && s->to) return s->to->value() - key;
    return std::nullopt;
}

std::vector<InflectionFigures> inflections_of(const std::vector<Note>& notes) {
    static constexpr std::array order = {"slide_in", "slide_to_next", "slide_out", "bend",
                                         "vibrato",  "trill",         "staccato",  "accent"};
    std::vector<InflectionFigures> all;
    for (const std::string kind : order) {
        InflectionFigures f;
        f.kind = kind;
        if (kind == "bend" || kind == "vibrato") f.unit = "cents";
        if (kind == "slide_in" || kind == "slide_out" || kind == "trill") f.unit = "semitones";
        for (std::size_t i = 0; i < notes.size(); ++i) {
            for (const Inflection& inflection : notes[i].inflections) {
                if (kind != kind_name(inflection.what)) continue;
                if (f.notes.empty() || f.notes.back() != i) f.notes.push_back(i);
                if (const auto size = size_of(notes[i], inflection.what)) f.sizes.push_back(*size);
                if (const auto* v = std::get_if<Vibrato>(&inflection.what))
                    f.rates.push_back(v->rate.value());
            }
        }
        if (!f.notes.empty()) all.push_back(std::move(f));
    }
    return all;
}

}  // namespace

double median_of(std::vector<double> values) {
    if (values.empty()) return 0.0;
    std::sort(values.begin(), values.end());
    const std::size_t n = values.size();
    return n % 2 == 1 ? values[n / 2] : 0.5 * (values[n / 2 - 1] + values[n / 2]);
}

Seconds LessonFigures::length() const {
    return notes.empty() ? Seconds(0) : notes.back().offset - notes.front().onset;
}

double LessonFigures::median_phrase() const {
    std::vector<double> sizes;
    for (const SoloPhrase& p : phrases)
        sizes.push_back(static_cast<double>(p.size()));
    return median_of(sizes);
}

LessonFigures figure_out(const Draft& draft, WhichNotes which) {
    LessonFigures f;
    f.notes = select_notes(draft, which);
    for (const Note& n : f.notes) {
        f.times.push_back(draft.bars ? draft.bars->beats_at(n.onset).value() : n.onset.value());
    }
    f.phrases = find_phrases(f.notes, draft.bars);
    f.stretches = stretches_of(draft, f.notes);
    f.sections = sections_of(draft, f.notes);
    f.repeated = repeated_notes(f);
    MotifRules rules;
    if (!draft.bars) rules.alike = 0.04;  // seconds: 0.08 of a beat at 120 a minute
    f.motifs = find_motifs(f.notes, f.phrases, f.times, rules);
    f.sweeps = sweeps_of(draft, f.notes);
    f.replies = replies_of(f, draft.bars.has_value());
    f.inflections = inflections_of(f.notes);
    f.chord_notes = against_chords(draft, f.notes);
    f.rhythm = rhythm_of(draft, f);
    return f;
}

}  // namespace bentline
