// The clues, measured.
#include "engine/bars/clues.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>

#include "engine/bars/clue_weights.h"
#include "engine/median.h"

namespace bentline {
namespace {

using Series = std::vector<double>;

double& at(Clues& clues, Clue clue) {
    return clues[static_cast<std::size_t>(clue)];
}

float peak_near(const std::vector<float>& x, double frame, long reach) {
    const auto t = std::lround(frame);
    float most = 0.0F;
    for (auto k = t - reach; k <= t + reach; ++k) {
        if (k >= 0 && k < static_cast<long>(x.size()))
            most = std::max(most, x[static_cast<std::size_t>(k)]);
    }
    return most;
}

double mean_of(const Series& x) {
    return x.empty() ? 0.0
                     : std::accumulate(x.begin(), x.end(), 0.0) / static_cast<double>(x.size());
}

// Mean 0, standard deviation 1.
Series standardised(Series x) {
    const double mean = mean_of(x);
    double power = 0.0;
    for (const double v : x)
        power += (v - mean) * (v - mean);
    const double spread = std::sqrt(power / static_cast<double>(x.size())) + 1e-9;
    for (double& v : x)
        v = (v - mean) / spread;
    return x;
}

// How much the harmony of `reach` beats after each beat differs from that of as many before it.
Series harmony_change(const OnsetStrength& s, const ChromaReader& chroma, const BeatRow& row,
                      std::size_t reach) {
    Series change(row.size(), 0.0);
    const auto time = [&](std::size_t i) { return s.time_of(row[i]); };
    for (std::size_t i = 1; i + 1 < row.size(); ++i) {
        const std::size_t r = std::min({reach, i, row.size() - 1 - i});
        const Chroma before = chroma.between(time(i - r), time(i));
        const Chroma after = chroma.between(time(i), time(i + r));
        change[i] = 1.0 - std::inner_product(before.begin(), before.end(), after.begin(), 0.0);
    }
    return change;
}

Series strength_on(const std::vector<float>& strength, const BeatRow& row) {
    Series on;
    for (const double frame : row)
        on.push_back(peak_near(strength, frame, 2));
    return on;
}

BeatRow half_way(const BeatRow& row) {
    BeatRow out;
    for (std::size_t i = 0; i + 1 < row.size(); ++i)
        out.push_back(0.5 * (row[i] + row[i + 1]));
    return out;
}

BeatRow every_other(const BeatRow& row, std::size_t from) {
    BeatRow out;
    for (std::size_t i = from; i < row.size(); i += 2)
        out.push_back(row[i]);
    return out;
}

double unevenness(const std::vector<float>& x, const BeatRow& row) {
    return std::abs(mean_at(x, every_other(row, 0), 0.0) - mean_at(x, every_other(row, 1), 0.0));
}

// How much more often a struck beat has a stroke half a beat before it than half a beat after it:
// long notes begin on beats, and short ones lead to them.
double pickups(const std::vector<float>& strength, const BeatRow& row) {
    double sum = 0.0;
    for (std::size_t i = 1; i + 1 < row.size(); ++i) {
        const float here = peak_near(strength, row[i], 1);
        sum += std::min(here, peak_near(strength, 0.5 * (row[i - 1] + row[i]), 1));
        sum -= std::min(here, peak_near(strength, 0.5 * (row[i] + row[i + 1]), 1));
    }
    return row.size() < 3 ? 0.0 : sum / static_cast<double>(row.size() - 2);
}

double unsteadiness(const BeatRow& row) {
    double sum = 0.0;
    for (std::size_t i = 2; i < row.size(); ++i) {
        const double change = std::log((row[i] - row[i - 1]) / (row[i - 1] - row[i - 2]));
        sum += change * change;
    }
    return std::sqrt(sum / static_cast<double>(row.size() - 2));
}

double octaves_above_reference(const BeatRow& row) {
    constexpr Tempo reference{120.0};
    return std::log2(tempo_of(strength_hop * median_length(row)) / reference);
}

Clues clues_of_row(const OnsetStrength& s, const ChromaReader& chroma, const BeatRow& row) {
    Clues c{};
    at(c, Clue::on) = mean_at(s.all, row, 0.0);
    at(c, Clue::half) = mean_at(s.all, row, 0.5);
    at(c, Clue::third) = mean_at(s.all, row, 1.0 / 3.0);
    at(c, Clue::two_thirds) = mean_at(s.all, row, 2.0 / 3.0);
    at(c, Clue::quarter) = 0.5 * (mean_at(s.all, row, 0.25) + mean_at(s.all, row, 0.75));
    at(c, Clue::low_on) = mean_at(s.low, row, 0.0);
    at(c, Clue::low_half) = mean_at(s.low, row, 0.5);
    at(c, Clue::high_on) = mean_at(s.high, row, 0.0);
    at(c, Clue::high_half) = mean_at(s.high, row, 0.5);
    at(c, Clue::mid_on) = mean_at(s.mid, row, 0.0);
    at(c, Clue::mid_half) = mean_at(s.mid, row, 0.5);
    at(c, Clue::pickup) = pickups(s.low, row);
    at(c, Clue::uneven) = unevenness(s.all, row);
    at(c, Clue::low_uneven) = unevenness(s.low, row);
    at(c, Clue::harmony) = mean_of(harmony_change(s, chroma, row, 1)) -
                           mean_of(harmony_change(s, chroma, half_way(row), 1));
    const double octaves = octaves_above_reference(row);
    at(c, Clue::tempo) = octaves;
    at(c, Clue::unusual) = octaves * octaves;
    at(c, Clue::unsteady) = unsteadiness(row);
    return c;
}

// Mean of a series over the beats at one place of every bar.
double at_place(const Series& x, std::size_t first, std::size_t per_bar, std::size_t place) {
    double sum = 0.0;
    std::size_t count = 0;
    const std::size_t from = (first + place) % per_bar;
    for (std::size_t i = from; i < x.size(); i += per_bar, ++count)
        sum += x[i];
    return count == 0 ? 0.0 : sum / static_cast<double>(count);
}

// Beats two and four less one and three.
double back_beat(const Series& x, std::size_t first, std::size_t per_bar) {
    double sum = 0.0;
    for (std::size_t k = 0; k < per_bar; ++k)
        sum += (k % 2 == 1 ? 1.0 : -1.0) * at_place(x, first, per_bar, k);
    return sum / static_cast<double>(per_bar);
}

struct BeatSeries {
    Series change, long_change, raw_change, low, mid, high;
};

void add_clues_of_bars(Reading& r, const BeatSeries& b, double octaves) {
    Clues& c = r.clues;
    const auto m = static_cast<std::size_t>(r.beats_per_bar);
    const double weight = std::sqrt(static_cast<double>(b.low.size()) / static_cast<double>(m));
    const auto first_beat = [&](const Series& x) { return weight * at_place(x, r.first, m, 0); };
    const auto third_beat = [&](const Series& x) { return weight * at_place(x, r.first, m, 2); };
    at(c, Clue::bar_harmony) = first_beat(b.change);
    at(c, Clue::bar_long_harmony) = first_beat(b.long_change);
    at(c, Clue::bar_raw_harmony) = at_place(b.raw_change, r.first, m, 0);
    if (m == 3) {
        at(c, Clue::three_low) = first_beat(b.low);
        at(c, Clue::three_mid) = first_beat(b.mid);
        at(c, Clue::three_high) = first_beat(b.high);
    } else {
        at(c, Clue::bar_low) = first_beat(b.low);
        at(c, Clue::bar_mid) = first_beat(b.mid);
        at(c, Clue::bar_high) = first_beat(b.high);
    }
    if (m == 4) {
        at(c, Clue::middle_harmony) = third_beat(b.change);
        at(c, Clue::middle_low) = third_beat(b.low);
    }
    if (m % 2 == 0) {
        at(c, Clue::back_low) = weight * back_beat(b.low, r.first, m);
        at(c, Clue::back_mid) = weight * back_beat(b.mid, r.first, m);
        at(c, Clue::back_high) = weight * back_beat(b.high, r.first, m);
    }
    if (!r.threes && m == 3) {
        at(c, Clue::in_three) = 1.0;
        at(c, Clue::in_three_tempo) = octaves;
    }
    if (r.threes) {
        at(c, m == 2 ? Clue::two_threes : Clue::four_threes) = 1.0;
        at(c, Clue::threes_tempo) = octaves;
        const auto log_ratio = [](double x, double y) { return std::log((x + 0.05) / (y + 0.05)); };
        const double least = std::min(at(c, Clue::third), at(c, Clue::two_thirds));
        at(c, Clue::threes_least) = std::log((least + 0.03) / 0.1);
        at(c, Clue::threes_struck) = log_ratio(least, at(c, Clue::half));
        at(c, Clue::threes_balance) = log_ratio(at(c, Clue::third), at(c, Clue::two_thirds));
    }
}

}  // namespace

const char* name_of(Clue clue) {
    static constexpr std::array<const char*, clue_count> names = {
        "on",
        "half",
        "third",
        "two_thirds",
        "quarter",
        "low_on",
        "low_half",
        "high_on",
        "high_half",
        "mid_on",
        "mid_half",
        "pickup",
        "uneven",
        "low_uneven",
        "harmony",
        "tempo",
        "unusual",
        "unsteady",
        "bar_harmony",
        "bar_long_harmony",
        "bar_raw_harmony",
        "middle_harmony",
        "bar_low",
        "bar_mid",
        "bar_high",
        "middle_low",
        "back_low",
        "back_mid",
        "back_high",
        "three_low",
        "three_mid",
        "three_high",
        "in_three",
        "in_three_tempo",
        "two_threes",
        "four_threes",
        "threes_tempo",
        "threes_struck",
        "threes_balance",
        "threes_least",
    };
    return names.at(static_cast<std::size_t>(clue));
}

std::vector<Reading> readings_of(const Heard& heard, const BeatRow& row,
                                 const std::vector<Metre>& metres) {
    if (row.size() < 4) return {};
    const OnsetStrength& s = heard.strength;
    const ChromaReader& chroma = heard.chroma;
    const Clues of_row = clues_of_row(s, chroma, row);
    const double octaves = octaves_above_reference(row);
    BeatSeries series;
    series.raw_change = harmony_change(s, chroma, row, 2);
    series.change = standardised(series.raw_change);
    series.low = standardised(strength_on(s.low, row));
    series.mid = standardised(strength_on(s.mid, row));
    series.high = standardised(strength_on(s.high, row));
    std::vector<Reading> all;
    for (const Metre& metre : metres) {
        const auto m = static_cast<std::size_t>(metre.beats_per_bar());
        series.long_change = standardised(harmony_change(s, chroma, row, m));
        for (std::size_t first = 0; first < std::min(m, row.size()); ++first) {
            Reading r{static_cast<int>(m), metre.compound(), first, of_row, 0.0};
            add_clues_of_bars(r, series, octaves);
            if (!heard.tonal) {
                for (const Clue clue : {Clue::harmony, Clue::bar_harmony, Clue::bar_long_harmony,
                                        Clue::bar_raw_harmony, Clue::middle_harmony}) {
                    at(r.clues, clue) = 0.0;
                }
            }
            r.score = std::inner_product(r.clues.begin(), r.clues.end(), clue_weights.begin(), 0.0);
            all.push_back(r);
        }
    }
    return all;
}

double mean_at(const std::vector<float>& strength, const BeatRow& row, double share) {
    double sum = 0.0;
    std::size_t count = 0;
    for (std::size_t i = 0; i + 1 < row.size(); ++i) {
        const auto t = std::lround(row[i] + share * (row[i + 1] - row[i]));
        if (t < 1 || t + 1 >= static_cast<long>(strength.size())) continue;
        const auto k = static_cast<std::size_t>(t);
        sum += std::max({0.6F * strength[k - 1], strength[k], 0.6F * strength[k + 1]});
        ++count;
    }
    return count == 0 ? 0.0 : sum / static_cast<double>(count);
}

double median_length(const BeatRow& row) {
    std::vector<double> lengths;
    for (std::size_t i = 1; i < row.size(); ++i)
        lengths.push_back(row[i] - row[i - 1]);
    return median(std::move(lengths));
}

}  // namespace bentline
