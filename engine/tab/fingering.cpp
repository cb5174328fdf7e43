// From a request to a fingering: the choices, the path, the answer in words.
#include "engine/tab/fingering.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "engine/tab/finger_path.h"
#include "engine/tab/finger_rules.h"

namespace bentline {

namespace {

constexpr int most_different = 8;

std::vector<std::vector<Way>> choices_of(const FingerRules& rules, bool all_may_be_out) {
    std::vector<std::vector<Way>> choices;
    choices.reserve(rules.notes());
    const std::vector<Way> out = rules.ways_out();
    for (std::size_t i = 0; i < rules.notes(); ++i) {
        choices.push_back(rules.ways(i));
        if (all_may_be_out || choices.back().empty()) {
            choices.back().insert(choices.back().end(), out.begin(), out.end());
        }
    }
    return choices;
}

Fingering in_words(const FingerRules& rules, const FingerPath& path) {
    Fingering made;
    made.effort = path.effort;
    for (std::size_t i = 0; i < path.ways.size(); ++i) {
        const Way& way = path.ways[i];
        FingeredNote note;
        note.hand = way.hand;
        if (way.placed()) {
            note.spot = Spot{way.string, way.fret};
            note.finger = way.finger();
        } else {
            note.problem = rules.problem(i);
        }
        made.notes.push_back(std::move(note));
    }
    return made;
}

// The path of least effort; notes are left out only where there is no other way.
Result<FingerPath> best_path(const FingerRules& rules, const Work& work) {
    for (const bool all_may_be_out : {false, true}) {
        auto path = least_effort(rules, choices_of(rules, all_may_be_out), {}, work);
        if (!path) return path.failure();
        if (*path) return std::move(**path);
    }
    assert(false);  // with everything left out no rule is broken
    return FingerPath{};
}

std::vector<int> strings_of(const FingerPath& path) {
    std::vector<int> strings;
    strings.reserve(path.ways.size());
    for (const Way& way : path.ways)
        strings.push_back(way.string);
    return strings;
}

}  // namespace

Result<Fingering> find_fingering(const FingeringRequest& request, const FingeringSettings& settings,
                                 const Work& work) {
    const Result<Done> checked = check_request(request);
    if (!checked) return checked.failure();
    const FingerRules rules(request, settings);
    const Result<FingerPath> path = best_path(rules, work);
    if (!path) return path.failure();
    return in_words(rules, *path);
}

Result<std::vector<Fingering>> find_alternatives(const FingeringRequest& request, NoteSpan passage,
                                                 int count, const FingeringSettings& settings,
                                                 const Work& work) {
    const Result<Done> checked = check_request(request);
    if (!checked) return checked.failure();
    if (passage.last <= passage.first || request.notes.size() < passage.last || count < 1 ||
        3 < count) {
        return Failure{
            FailureKind::out_of_range,
            "alternatives need a passage of at least one note of the line, and are one to "
            "three; choose others",
            {}};
    }
    const FingerRules rules(request, settings);
    const Result<FingerPath> first = best_path(rules, work.part(0.0, 1.0 / count));
    if (!first) return first.failure();
    std::vector<Fingering> found = {in_words(rules, *first)};

    // Within the passage all that the first answer could place may move; outside strings stay.
    std::vector<std::vector<Way>> choices = choices_of(rules, false);
    for (std::size_t i = 0; i < choices.size(); ++i) {
        const Way& chosen = first->ways[i];
        const bool inside = passage.first <= i && i < passage.last;
        if (!chosen.placed()) {
            choices[i] = rules.ways_out();
        } else if (!inside) {
            std::erase_if(choices[i], [&](const Way& way) { return way.string != chosen.string; });
        }
    }
    const auto notes = static_cast<int>(passage.last - passage.first);
    Difference difference{passage, std::min((notes + 3) / 4, most_different), {strings_of(*first)}};
    while (static_cast<int>(found.size()) < count) {
        const double done = static_cast<double>(found.size());
        auto next =
            least_effort(rules, choices, difference, work.part(done / count, (done + 1) / count));
        if (!next) return next.failure();
        if (!*next) break;
        found.push_back(in_words(rules, **next));
        difference.strings.push_back(strings_of(**next));
    }
    return found;
}

std::vector<NoteSpan> find_sweeps(const std::vector<Note>& notes, const Neck& neck, Seconds step) {
    const auto rise = [&](std::size_t i) {
        return notes[i].key.value() - notes[i - 1].key.value();
    };
    const auto may_follow = [&](std::size_t i) {
        const int size = std::abs(rise(i));
        return notes[i].onset - notes[i - 1].onset <= step && 3 <= size && size <= 7;
    };
    const auto playable = [&](std::size_t first, std::size_t last) {
        FingeringRequest part;
        part.notes.assign(notes.begin() + static_cast<std::ptrdiff_t>(first),
                          notes.begin() + static_cast<std::ptrdiff_t>(last));
        part.neck = neck;
        part.sweeps = {{0, last - first}};
        const auto fingering = find_fingering(part);
        return fingering.ok() &&
               std::all_of(fingering->notes.begin(), fingering->notes.end(),
                           [](const FingeredNote& n) { return n.spot.has_value(); });
    };
    constexpr std::size_t fewest = 3;
    const auto most = static_cast<std::size_t>(neck.strings());
    std::vector<NoteSpan> found;
    for (std::size_t first = 0; first + fewest <= notes.size();) {
        std::size_t last = first + 1;
        while (last < notes.size() && last - first < most && may_follow(last) &&
               (last == first + 1 || (rise(last) > 0) == (rise(last - 1) > 0))) {
            ++last;
        }
        while (last - first >= fewest && !playable(first, last))
            --last;
        if (last - first >= fewest) {
            found.push_back({first, last});
            first = last;
        } else {
            ++first;
        }
    }
    return found;
}

std::vector<UnisonBend> find_unison_bends(const std::vector<Note>& notes) {
    constexpr Cents near{50.0};       // of the other's pitch
    constexpr Seconds together{0.1};  // sounding in both
    std::vector<UnisonBend> found;
    for (std::size_t i = 1; i < notes.size(); ++i) {
        if (notes[i - 1].offset < notes[i].onset + together) continue;
        for (const auto& [bent, held] : {std::pair{i - 1, i}, std::pair{i, i - 1}}) {
            const Bend* bend = find<Bend>(notes[bent]);
            if (bend == nullptr || notes[held].key <= notes[bent].key) continue;
            const Cents miss = Pitch(notes[bent].key) + bend->size - Pitch(notes[held].key);
            if (-near <= miss && miss <= near) {
                found.push_back({bent, held});
                break;
            }
        }
    }
    return found;
}

}  // namespace bentline
