// Fits the weights of the beat follower's clues on generated bands and prints them as they stand in
// engine/bars/clue_weights.h.
//   bentline_beat_fit play FILE FIRST_SEED SEEDS    plays the bands, adds their clues to FILE
//   bentline_beat_fit fit FILE STEPS PRIOR          fits the weights to FILE
// Maximises the expected worth of the reading that is drawn with probability exp(score) / sum:
// worth is beat F times downbeat F (cubed, so that only good readings count) times whether the
// metre is right. A normal prior around 0 on weights of standardised clues keeps them small.
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <vector>

#include "engine/bars/beats.h"
#include "tests/bars/band.h"
#include "tests/bars/beat_score.h"
#include "tests/score/solo_over.h"

using namespace bentline;
using namespace bentline::testing;

namespace {

struct Choice {
    Clues clues;
    double worth;
};
using Performance = std::vector<Choice>;

Performance choices_of(const Band& band) {
    Performance choices;
    const auto heard = hear(band.audio);
    if (!heard) return choices;
    for (const RowReadings& r : all_readings(*heard, {})) {
        std::vector<Seconds> beats;
        for (const double f : r.row)
            beats.push_back(heard->strength.time_of(f));
        const double f_beats = beat_f_measure(band.beats, beats);
        for (const Reading& reading : r.readings) {
            std::vector<Seconds> bars;
            for (std::size_t i = reading.first; i < beats.size();
                 i += static_cast<std::size_t>(reading.beats_per_bar)) {
                bars.push_back(beats[i]);
            }
            const double f_bars = beat_f_measure(band.downbeats, bars);
            const double f = 0.6 * f_beats + 0.4 * f_bars;
            const double metre = reading.metre() == band.metre ? 1.0 : 0.7;
            choices.push_back({reading.clues, f * f * f * metre});
        }
    }
    return choices;
}

Clues spreads_of(const std::vector<Performance>& all) {
    Clues mean{};
    Clues power{};
    double n = 0.0;
    for (const Performance& p : all) {
        for (const Choice& c : p) {
            n += 1.0;
            for (std::size_t k = 0; k < clue_count; ++k) {
                mean[k] += c.clues[k];
                power[k] += c.clues[k] * c.clues[k];
            }
        }
    }
    Clues spread{};
    for (std::size_t k = 0; k < clue_count; ++k) {
        const double m = mean[k] / n;
        spread[k] = std::sqrt(std::max(0.0, power[k] / n - m * m)) + 1e-6;
    }
    return spread;
}

struct Sum {
    double worth = 0.0;  // mean log of the expected worth
    Clues slope{};
    double taken = 0.0;  // mean worth of the readings with the best score, as a share of the best
};

Sum sum_over(const std::vector<Performance>& all, const Clues& w) {
    Sum sum;
    for (const Performance& p : all) {
        std::vector<double> score;
        double most = -1e300;
        std::size_t best = 0;
        double best_worth = 0.0;
        for (const Choice& c : p) {
            double x = 0.0;
            for (std::size_t k = 0; k < clue_count; ++k)
                x += w[k] * c.clues[k];
            if (x > most) {
                most = x;
                best = score.size();
            }
            best_worth = std::max(best_worth, c.worth);
            score.push_back(x);
        }
        double z = 0.0;
        double zw = 0.0;
        Clues plain{};
        Clues worthy{};
        for (std::size_t i = 0; i < p.size(); ++i) {
            const double e = std::exp(score[i] - most);
            const double ew = e * (p[i].worth + 1e-4);
            z += e;
            zw += ew;
            for (std::size_t k = 0; k < clue_count; ++k) {
                plain[k] += e * p[i].clues[k];
                worthy[k] += ew * p[i].clues[k];
            }
        }
        const double n = static_cast<double>(all.size());
        sum.worth += std::log(zw / z) / n;
        sum.taken += p[best].worth / best_worth / n;
        for (std::size_t k = 0; k < clue_count; ++k)
            sum.slope[k] += (worthy[k] / zw - plain[k] / z) / n;
    }
    return sum;
}

}  // namespace

namespace {

int play(const char* path, int first, int seeds) {
    std::FILE* out = std::fopen(path, "ab");
    if (out == nullptr) return 1;
    for (int f = 0; f < feels; ++f) {
        for (int seed = first; seed < first + seeds; ++seed) {
            BandSettings settings;
            settings.feel = static_cast<Feel>(f);
            settings.seed = static_cast<std::uint64_t>(seed);
            settings.drift = seed % 2 == 0 ? 0.08 : 0.0;
            // Seeds from 1000 on are drummers alone.
            settings.drums_alone = seed >= 1000;
            // Every third soloist plays triplets and sixteenths, which mislead most.
            if (seed % 3 == 0) {
                settings.soloist = [&](const Band& b) {
                    return as_band_notes(solo_over(b, settings.seed));
                };
            }
            const auto band = play_band(settings);
            if (!band) {
                std::fprintf(stderr, "%s\n", band.failure().sentence.c_str());
                return 1;
            }
            const Performance p = choices_of(*band);
            const std::size_t count = p.size();
            std::fwrite(&count, sizeof count, 1, out);
            std::fwrite(p.data(), sizeof(Choice), count, out);
        }
    }
    return std::fclose(out) == 0 ? 0 : 1;
}

std::vector<Performance> read(const char* path) {
    std::vector<Performance> all;
    std::FILE* in = std::fopen(path, "rb");
    for (std::size_t count = 0; in != nullptr && std::fread(&count, sizeof count, 1, in) == 1;) {
        Performance p(count);
        if (std::fread(p.data(), sizeof(Choice), count, in) != count) break;
        if (!p.empty()) all.push_back(std::move(p));
    }
    if (in != nullptr) std::fclose(in);
    return all;
}

int fit(std::vector<Performance> all, int steps, double prior) {
    // Gradient ascent in standardised clues, each step scaled by its own running power (Adam:
    // Kingma & Ba 2015).
    const Clues spread = spreads_of(all);
    for (Performance& p : all) {
        for (Choice& c : p) {
            for (std::size_t k = 0; k < clue_count; ++k)
                c.clues[k] /= spread[k];
        }
    }
    Clues w{};
    Clues momentum{};
    Clues power{};
    for (int step = 1; step <= steps; ++step) {
        const Sum sum = sum_over(all, w);
        if (step % 100 == 0 || step == steps)
            std::fprintf(stderr, "%d: log worth %.4f, taken %.4f\n", step, sum.worth, sum.taken);
        for (std::size_t k = 0; k < clue_count; ++k) {
            const double slope = sum.slope[k] - prior * w[k];
            momentum[k] = 0.9 * momentum[k] + 0.1 * slope;
            power[k] = 0.99 * power[k] + 0.01 * slope * slope;
            const double m = momentum[k] / (1.0 - std::pow(0.9, step));
            const double v = power[k] / (1.0 - std::pow(0.99, step));
            w[k] += 0.05 * m / (std::sqrt(v) + 1e-8);
        }
    }
    for (std::size_t k = 0; k < clue_count; ++k)
        std::printf("    %.3f,  // %s\n", w[k] / spread[k], name_of(static_cast<Clue>(k)));
    return 0;
}

}  // namespace

int main(int argc, char** argv) {
    if (argc == 5 && std::strcmp(argv[1], "play") == 0)
        return play(argv[2], std::atoi(argv[3]), std::atoi(argv[4]));
    if (argc == 5 && std::strcmp(argv[1], "fit") == 0)
        return fit(read(argv[2]), std::atoi(argv[3]), std::atof(argv[4]));
    std::fprintf(stderr, "bentline_beat_fit play FILE FIRST_SEED SEEDS, or fit FILE STEPS PRIOR\n");
    return 2;
}
