// Kernel densities over beat phase, and their ratio.
#include "engine/notes/beat_places.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace bentline::notes {

namespace {

constexpr double width = 0.025;       // of the kernel, beats: 8 to 17 ms at 90 to 180 a minute
constexpr double usual_count = 16.0;  // what the usual places count for, in attacks
// How far the ratio counts. Over plucks of generated bands with known ones, logistic regression
// gives 0.5 to 0.9 by the takes.
constexpr double strength = 0.6;
constexpr double most = 2.0;

// Where notes usually begin, and how many of ten; the rest lies anywhere.
struct Place {
    double phase, share;
};
constexpr std::array<Place, 7> usual = {{{0.0, 0.40},
                                         {0.25, 0.04},
                                         {1.0 / 3.0, 0.07},
                                         {0.5, 0.12},
                                         {0.6, 0.06},
                                         {2.0 / 3.0, 0.12},
                                         {0.75, 0.04}}};
constexpr double anywhere = 0.15;

// Of an attack at `at`, seen from `here`: 1 on average over the beat.
double kernel(double at, double here) {
    const double away = std::remainder(at - here, 1.0) / width;
    return std::exp(-0.5 * away * away) / (width * std::sqrt(2.0 * std::numbers::pi));
}

double chance(double log_odds) {
    return 1.0 / (1.0 + std::exp(-log_odds));
}

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
    learned.his_count_ = usual_count;
    learned.others_count_ = usual_count;
    const auto middle = [](std::size_t k) {
        return (static_cast<double>(k) + 0.5) / static_cast<double>(places);
    };
    for (std::size_t k = 0; k < places; ++k) {
        double density = anywhere;
        for (const Place& p : usual)
            density += p.share * kernel(p.phase, middle(k));
        learned.his_[k] = usual_count * density;
        learned.others_[k] = usual_count;
    }
    for (const Pluck& p : attacks.plucks) {
        const auto at = learned.phase(p.time);
        if (!at) continue;
        const double his = chance(p.log_odds);
        learned.his_count_ += his;
        learned.others_count_ += 1.0 - his;
        for (std::size_t k = 0; k < places; ++k) {
            const double height = kernel(*at, middle(k));
            learned.his_[k] += his * height;
            learned.others_[k] += (1.0 - his) * height;
        }
    }
    return learned;
}

// The log-odds at a phase without an attack there that taught `his` and `others`.
double BeatPlaces::without(double phase, double his, double others) const {
    const double place = std::floor(phase * static_cast<double>(places));
    const auto k =
        static_cast<std::size_t>(std::clamp(place, 0.0, static_cast<double>(places) - 1.0));
    const double own = kernel(phase, (static_cast<double>(k) + 0.5) / static_cast<double>(places));
    const double for_him = (his_[k] - his * own) / (his_count_ - his);
    const double for_others = (others_[k] - others * own) / (others_count_ - others);
    return std::clamp(strength * std::log(for_him / for_others), 0.0, most);
}

double BeatPlaces::log_odds(double seconds) const {
    const auto at = phase(seconds);
    return at ? without(*at, 0.0, 0.0) : 0.0;
}

double BeatPlaces::log_odds(const Pluck& learned) const {
    const auto at = phase(learned.time);
    const double his = chance(learned.log_odds);
    return at ? without(*at, his, 1.0 - his) : 0.0;
}

}  // namespace bentline::notes
