// A kernel density over beat phase.
#include "engine/notes/beat_places.h"

#include <algorithm>
#include <cmath>

namespace bentline::notes {

namespace {

constexpr double clear = 2.0;       // log-odds of a pluck that teaches
constexpr double width = 0.035;     // of the kernel, beats: 15 to 20 ms at medium tempos
constexpr double even_notes = 8.0;  // what an even spread counts for, in notes
constexpr double most = 0.9;

}  // namespace

std::optional<double> BeatPlaces::phase(double seconds) const {
    const auto after = std::upper_bound(beats_.begin(), beats_.end(), Seconds(seconds));
    if (after == beats_.begin() || after == beats_.end()) return std::nullopt;
    const Seconds from = *(after - 1);
    const Seconds length = *after - from;
    if (!(length > Seconds(0.0))) return std::nullopt;
    return (Seconds(seconds) - from) / length;
}

std::optional<BeatPlaces> BeatPlaces::learn(const std::vector<Seconds>& beats,
                                            const Attacks& attacks) {
    if (beats.size() < 3) return std::nullopt;
    BeatPlaces learned;
    learned.beats_ = beats;
    std::vector<double> phases;
    for (const Pluck& p : attacks.plucks) {
        if (p.log_odds < clear) continue;
        if (const auto at = learned.phase(p.time)) phases.push_back(*at);
    }
    if (phases.size() < 12) return std::nullopt;
    const double height = 1.0 / (width * std::sqrt(2.0 * 3.14159265358979));
    const double notes = static_cast<double>(phases.size());
    for (std::size_t k = 0; k < places; ++k) {
        const double here = (static_cast<double>(k) + 0.5) / static_cast<double>(places);
        double sum = even_notes;
        for (const double p : phases) {
            const double away = std::remainder(p - here, 1.0) / width;
            sum += height * std::exp(-0.5 * away * away);
        }
        learned.density_[k] = sum / (notes + even_notes);
    }
    return learned;
}

double BeatPlaces::log_odds(double seconds) const {
    const auto at = phase(seconds);
    if (!at) return 0.0;
    const auto k = static_cast<std::size_t>(
        std::clamp(*at * static_cast<double>(places), 0.0, static_cast<double>(places) - 1.0));
    return std::clamp(0.3 * std::log(density_[k]), -most, most);
}

}  // namespace bentline::notes
