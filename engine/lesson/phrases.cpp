// Phrase boundaries from rests and held notes.
#include "engine/lesson/phrases.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "engine/median.h"

namespace bentline {
namespace {

constexpr std::size_t neighbours = 6;  // either side, for the usual distance of onsets

double usual_distance(const std::vector<Note>& notes, std::size_t at) {
    std::vector<double> distances;
    const std::size_t from = at > neighbours ? at - neighbours : 0;
    const std::size_t to = std::min(notes.size() - 1, at + neighbours + 1);
    for (std::size_t i = from; i < to; ++i) {
        if (i != at) distances.push_back((notes[i + 1].onset - notes[i].onset).value());
    }
    if (distances.empty()) return 0.0;
    return median(std::move(distances));
}

bool ends_phrase(const std::vector<Note>& notes, std::size_t i, const std::optional<BarMap>& bars,
                 const PhraseRules& rules) {
    const double silence = (notes[i + 1].onset - notes[i].offset).value();
    const double distance = (notes[i + 1].onset - notes[i].onset).value();
    double rest = rules.rest.value();
    double held = rules.held.value();
    if (bars) {
        const double beat = beat_at(*bars, notes[i].offset).value();
        rest = std::max(rules.shortest_rest.value(), rules.rest_beats * beat);
        held = rules.held_beats * beat;
    }
    if (silence >= rest) return true;
    const double usual = usual_distance(notes, i);
    return usual > 0.0 && distance >= held && distance >= rules.held_times * usual;
}

}  // namespace

Seconds beat_at(const BarMap& bars, Seconds time) {
    const Beats at = bars.beats_at(time);
    const Beats begin(std::floor(at.value()));
    return bars.time_of(begin + Beats(1.0)) - bars.time_of(begin);
}

std::optional<Decibels> median_level(const std::vector<Note>& notes, std::size_t first,
                                     std::size_t last) {
    std::vector<double> levels;
    for (std::size_t i = first; i < last; ++i) {
        if (notes[i].level) levels.push_back(notes[i].level->value());
    }
    if (levels.empty()) return std::nullopt;
    std::sort(levels.begin(), levels.end());
    const std::size_t n = levels.size();
    return Decibels(n % 2 == 1 ? levels[n / 2] : 0.5 * (levels[n / 2 - 1] + levels[n / 2]));
}

std::vector<SoloPhrase> find_phrases(const std::vector<Note>& notes,
                                     const std::optional<BarMap>& bars, const PhraseRules& rules) {
    std::vector<SoloPhrase> phrases;
    std::size_t first = 0;
    for (std::size_t i = 0; i < notes.size(); ++i) {
        if (i + 1 < notes.size() && !ends_phrase(notes, i, bars, rules)) continue;
        SoloPhrase p;
        p.first = first;
        p.last = i + 1;
        p.span = {notes[first].onset, notes[i].offset};
        const auto [low, high] =
            std::minmax_element(notes.begin() + static_cast<std::ptrdiff_t>(first),
                                notes.begin() + static_cast<std::ptrdiff_t>(i + 1),
                                [](const Note& a, const Note& b) { return a.key < b.key; });
        p.lowest = low->key;
        p.highest = high->key;
        p.level = median_level(notes, p.first, p.last);
        phrases.push_back(p);
        first = i + 1;
    }
    return phrases;
}

}  // namespace bentline
