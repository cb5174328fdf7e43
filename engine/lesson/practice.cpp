// What to practise, where, and how fast to begin.
#include "engine/lesson/practice.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "engine/lesson/lesson_text.h"

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
        all.push_back(
            {span_text(span, draft.bars), span, std::move(what), speed_steps(per_second)});
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
        const std::string name = key_name(f.notes[note].key, draft.key_at(f.notes[note].onset));
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

namespace {

constexpr std::size_t fewest_to_practise = 4;

using NoteRange = std::pair<std::size_t, std::size_t>;  // [first, second)

// The phrases' notes, those of short phrases joined to the nearer neighbour.
std::vector<NoteRange> joined_phrases(const LessonFigures& f) {
    std::vector<NoteRange> ranges;
    for (const SoloPhrase& p : f.phrases)
        ranges.emplace_back(p.first, p.last);
    const auto is_short = [](const NoteRange& r) {
        return r.second - r.first < fewest_to_practise;
    };
    // From a range's last note to the next range's first.
    const auto gap_behind = [&](std::size_t i) {
        return f.notes[ranges[i + 1].first].onset - f.notes[ranges[i].second - 1].offset;
    };
    for (std::size_t i = 0; i < ranges.size() && ranges.size() > 1;) {
        if (!is_short(ranges[i])) {
            ++i;
            continue;
        }
        const bool onward = i == 0 || (i + 1 < ranges.size() && gap_behind(i) < gap_behind(i - 1));
        const std::size_t kept = onward ? i : i - 1;
        ranges[kept].second = ranges[kept + 1].second;
        ranges.erase(ranges.begin() + static_cast<std::ptrdiff_t>(kept) + 1);
        i = kept;
    }
    return ranges;
}

// Notes a second over the six closest notes of a range, or all of a shorter one.
double busiest(const LessonFigures& f, const NoteRange& range) {
    const std::size_t many = std::min<std::size_t>(range.second - range.first, 6);
    if (many < 2) return 0.0;
    double most = 0.0;
    for (std::size_t first = range.first; first + many <= range.second; ++first) {
        const Seconds span = f.notes[first + many - 1].onset - f.notes[first].onset;
        most = std::max(most, static_cast<double>(many - 1) / span.value());
    }
    return most;
}

// "¼", "1", "1½" whole tones, to the quarter.
std::string tones(Cents size) {
    const long quarters = std::max(1L, std::lround(std::abs(size.value()) / 50.0));
    static constexpr const char* parts[] = {"", "\u00bc", "\u00bd", "\u00be"};
    const long whole = quarters / 4;
    return (whole > 0 ? std::to_string(whole) : "") + parts[quarters % 4];
}

// "52 ± 4 c"; without a known error "52 c".
std::string measured(double value, const std::optional<double>& error, int places,
                     const std::string& unit) {
    std::string text = figure_text(value, places);
    if (error && rounded_to(*error, places) > 0.0) text += " \u00b1 " + figure_text(*error, places);
    return text + " " + unit;
}

// Where a figure is less than two standard errors from nothing, the ear must tell.
std::string perhaps(double value, const std::optional<double>& error) {
    return error && std::abs(value) < 2.0 * *error ? "perhaps " : "";
}

template <class Quantity>
std::optional<double> value_of(const std::optional<Quantity>& quantity) {
    return quantity ? std::optional(quantity->value()) : std::nullopt;
}

std::string frets(int away) {
    return counted(static_cast<std::size_t>(std::abs(away)), "fret") +
           (away < 0 ? " below" : " above");
}

// One inflection in words; empty where its sign says it all.
class InWords {
  public:
    InWords(const Note& note, const std::optional<Key>& key) : note_(note), key_(key) {}

    std::string operator()(const Bend& bend) const {
        const std::string size = tones(bend.size) + " tone (" +
                                 measured(bend.size.value(), value_of(bend.size_error), 0, "c");
        std::string words = bend.prebend ? "struck already bent " + size : "bent up " + size;
        if (!bend.prebend && bend.start && bend.peak && *bend.peak > *bend.start)
            words += ", there in " + figure_text((*bend.peak - *bend.start).value(), 2) + " s";
        return perhaps(bend.size.value(), value_of(bend.size_error)) + words + ")" +
               (bend.release ? ", then let down" : "");
    }
    std::string operator()(const Vibrato& shake) const {
        return perhaps(shake.depth.value(), value_of(shake.depth_error)) + "shaken " +
               measured(shake.rate.value(), value_of(shake.rate_error), 1, "Hz") + ", " +
               measured(shake.depth.value(), value_of(shake.depth_error), 0, "c") + " to each side";
    }
    std::string operator()(const SlideIn& slide) const {
        if (!slide.from) return "slid into from nowhere";
        return "slid into from " + key_name(*slide.from, key_) + ", " +
               frets(slide.from->value() - note_.key.value());
    }
    std::string operator()(const SlideOut& slide) const {
        if (!slide.to) return "left with a slide to nowhere";
        const int away = slide.to->value() - note_.key.value();
        return std::string("left with a slide ") + (away < 0 ? "down" : "up") + ", about " +
               counted(static_cast<std::size_t>(std::abs(away)), "fret");
    }
    std::string operator()(const SlideToNext&) const {
        return "slid on to the next note, which is not struck";
    }
    std::string operator()(const Trill& trill) const {
        return "trilled with the note " + frets(trill.semitones);
    }
    std::string operator()(const Staccato&) const { return {}; }
    std::string operator()(const Accent&) const { return {}; }

  private:
    const Note& note_;
    const std::optional<Key>& key_;
};

}  // namespace

std::vector<PhraseToPractise> phrases_in_order(const Draft& draft, const LessonFigures& f) {
    std::vector<PhraseToPractise> all;
    for (const NoteRange& range : joined_phrases(f)) {
        const double rate = busiest(f, range);
        const SecondsRange notes{f.notes[range.first].onset,
                                 f.notes[range.second - 1].onset + shortest_note};
        all.push_back(
            {range.first, range.second, span_text(notes, draft.bars), rate, speed_steps(rate)});
    }
    std::stable_sort(
        all.begin(), all.end(),
        [](const PhraseToPractise& a, const PhraseToPractise& b) { return a.busiest < b.busiest; });
    return all;
}

std::vector<std::string> inflections_in_words(const Note& note, const std::optional<Key>& key) {
    std::vector<std::string> all;
    for (const Inflection& i : note.inflections) {
        std::string words = std::visit(InWords(note, key), i.what);
        if (!words.empty()) all.push_back(std::move(words));
    }
    return all;
}

}  // namespace bentline
