// Damping, staccato, accent.
#include "engine/notes/weight.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

#include "engine/median.h"
#include "engine/notes/odds.h"
#include "engine/notes/words.h"

namespace bentline::notes {

namespace {

constexpr double silent_level = -119.0;  // dB: under this nothing is followed

double length_of(const Note& n) {
    return n.offset.value() - n.onset.value();
}

// The middle value of something over the neighbours of a note, the note itself left out. Neighbours
// further than 3 s away say nothing about it.
template <class F>
std::optional<double> among_neighbours(const std::vector<Note>& notes, std::size_t i, int reach,
                                       F value) {
    std::vector<double> v;
    const auto n = static_cast<std::ptrdiff_t>(notes.size());
    const auto at = static_cast<std::ptrdiff_t>(i);
    for (std::ptrdiff_t j = std::max<std::ptrdiff_t>(0, at - reach);
         j <= std::min(n - 1, at + reach); ++j) {
        const auto other = static_cast<std::size_t>(j);
        if (j == at || std::abs((notes[other].onset - notes[i].onset).value()) > 3.0) continue;
        if (const std::optional<double> x = value(other)) v.push_back(*x);
    }
    if (v.size() < 2) return std::nullopt;
    return median(std::move(v));
}

// How much louder than its neighbours a note is: by its own partials where they are followed, and
// a little by the whole sound. Chosen on generated music, alone and in bands.
constexpr double own_share = 0.75;

std::optional<double> louder_by(const std::vector<Note>& notes, const std::vector<double>& struck,
                                std::size_t i, int reach) {
    const auto level = [&](std::size_t j) {
        return notes[j].level ? std::optional(notes[j].level->value()) : std::nullopt;
    };
    const auto own = [&](std::size_t j) {
        return struck[j] > silent_level ? std::optional(struck[j]) : std::nullopt;
    };
    const auto whole_around = among_neighbours(notes, i, reach, level);
    if (!whole_around || !level(i)) return std::nullopt;
    const double whole = *level(i) - *whole_around;
    const auto own_around = among_neighbours(notes, i, reach, own);
    if (!own_around || !own(i)) return whole;
    return own_share * (struck[i] - *own_around) + (1.0 - own_share) * whole;
}

// How long nothing is played after a note, seconds; 1 after the last.
double silence_after(const std::vector<Note>& notes, std::size_t i,
                     const std::vector<Seconds>& perhaps) {
    constexpr Seconds early{0.03};  // its end may be heard this late
    const Seconds end = notes[i].offset;
    const Seconds next = i + 1 < notes.size() ? notes[i + 1].onset : end + Seconds(1.0);
    const auto doubtful = std::upper_bound(perhaps.begin(), perhaps.end(), end - early);
    const Seconds until = doubtful == perhaps.end() ? next : std::min(next, *doubtful);
    return std::max(0.0, (until - end).value());
}

}  // namespace

double damped_at(const Attacks& attacks, double onset, double latest,
                 const NoteSettings& settings) {
    const auto ahead = static_cast<std::size_t>(
        std::max(1L, std::lround(settings.damping_time.value() / attacks.hop)));
    const std::size_t from = attacks.frame_at(onset + 0.02);
    const std::size_t to = attacks.frame_at(latest);
    if (to <= from + ahead) return latest;
    std::vector<double> drops;
    for (std::size_t t = from; t + ahead <= to; ++t) {
        drops.push_back(attacks.level[t] - attacks.level[t + ahead]);
    }
    const double own = std::clamp(median(drops), 0.0, 3.0);
    for (std::size_t k = 0; k < drops.size(); ++k) {
        if (drops[k] - own < settings.damping_drop.value()) continue;
        const std::size_t t = from + k;
        const double level = attacks.level[t];
        double later = -120.0;
        for (std::size_t j = t + ahead; j <= to; ++j)
            later = std::max(later, attacks.level[j]);
        if (later > level - 0.6 * settings.damping_drop.value()) continue;
        // The knee: the last frame still near the level before the fall.
        std::size_t knee = t;
        while (knee + 1 <= to && attacks.level[knee + 1] > level - 2.5)
            ++knee;
        return std::clamp(attacks.start + attacks.hop * static_cast<double>(knee), onset + 0.01,
                          latest);
    }
    return latest;
}

double struck_level(const Attacks& attacks, double onset, double offset) {
    constexpr double attack = 0.08;  // seconds
    const std::size_t end =
        std::min(attacks.frame_at(std::min(offset, onset + attack)) + 1, attacks.level.size());
    double most = -120.0;
    for (std::size_t f = attacks.frame_at(onset); f < end; ++f)
        most = std::max(most, attacks.level[f]);
    return most;
}

void read_weight(std::vector<Note>& notes, const std::vector<double>& struck,
                 const std::vector<Seconds>& perhaps, const NoteSettings& settings) {
    for (std::size_t i = 0; i < notes.size(); ++i) {
        Note& note = notes[i];
        const double length = length_of(note);
        const double silence = silence_after(notes, i, perhaps);
        const double share = length / (length + silence);
        const auto usual =
            among_neighbours(notes, i, settings.accent_neighbours,
                             [&](std::size_t j) { return std::optional(length_of(notes[j])); });
        const bool short_one = !usual || length < 0.75 * *usual || length < 0.12;
        if (share <= settings.staccato_share && length <= settings.staccato_longest.value() &&
            silence >= settings.staccato_silence.value() && short_one && !find<SlideOut>(note)) {
            const double odds = 8.0 * (settings.staccato_share - share) + 6.0 * (0.2 - length);
            note.inflections.push_back({Staccato{}, confidence_of(odds),
                                        words({"damped after ", time_words(length), ", silent for ",
                                               time_words(silence)})});
        }
        const auto above = louder_by(notes, struck, i, settings.accent_neighbours);
        if (above && *above >= settings.accent_rise.value()) {
            note.inflections.push_back({Accent{}, confidence_of(0.8 * (*above - 4.0)),
                                        words({count(*above), " dB louder than its neighbours"})});
        }
    }
}

}  // namespace bentline::notes
