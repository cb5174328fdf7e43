// Prints how well beats, downbeats, metre, tempo and swing are found on generated bands.
//   bentline_beat_runner [first seed] [seeds] [drift] [--each] [--no-drums | --brushes | --break]
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>

#include "engine/bars/beats.h"
#include "tests/bars/band.h"
#include "tests/bars/beat_score.h"

using namespace bentline;
using namespace bentline::testing;

int main(int argc, char** argv) {
    const int first = argc > 1 ? std::atoi(argv[1]) : 1;
    const int seeds = argc > 2 ? std::atoi(argv[2]) : 3;
    const double drift = argc > 3 ? std::atof(argv[3]) : 0.0;
    bool each = false;
    Drums drums = Drums::usual;
    for (int i = 4; i < argc; ++i) {
        if (std::strcmp(argv[i], "--each") == 0) each = true;
        if (std::strcmp(argv[i], "--no-drums") == 0) drums = Drums::none;
        if (std::strcmp(argv[i], "--brushes") == 0) drums = Drums::brushes;
        if (std::strcmp(argv[i], "--break") == 0) drums = Drums::breaks;
    }
    double all_beats = 0.0;
    double all_downbeats = 0.0;
    double all_swing = 0.0;
    int cases = 0;
    int swung = 0;
    int metres = 0;
    int bar_ones = 0;
    for (int f = 0; f < feels; ++f) {
        double beats = 0.0;
        double downbeats = 0.0;
        int right_metre = 0;
        int right_one = 0;
        for (int seed = first; seed < first + seeds; ++seed) {
            BandSettings settings;
            settings.feel = static_cast<Feel>(f);
            settings.seed = static_cast<std::uint64_t>(seed);
            settings.drift = drift;
            settings.drums = drums;
            const auto band = play_band(settings);
            if (!band) {
                std::fprintf(stderr, "%s\n", band.failure().sentence.c_str());
                return 1;
            }
            const std::clock_t begin = std::clock();
            const auto found = follow_beats(band->audio);
            const double cost = static_cast<double>(std::clock() - begin) / CLOCKS_PER_SEC;
            if (!found) {
                std::fprintf(stderr, "%s\n", found.failure().sentence.c_str());
                continue;
            }
            const double b = beat_f_measure(band->beats, found->beats);
            const double d = beat_f_measure(band->downbeats, found->downbeat_times());
            beats += b;
            downbeats += d;
            const auto ones = found->downbeat_times();
            const bool one = !ones.empty() && !band->downbeats.empty() &&
                             std::abs((ones.front() - band->downbeats.front()).value()) < 0.07;
            right_one += one ? 1 : 0;
            right_metre += found->metre == band->metre ? 1 : 0;
            if (band->swing > 1.0 && b > 0.8 && found->swing_ratio) {
                all_swing += std::abs(*found->swing_ratio - band->swing) / band->swing;
                ++swung;
            }
            if (each) {
                std::printf(
                    "  %-20s beat %.3f downbeat %.3f tempo %.1f (%.1f) metre %s (%s) swing %.2f "
                    "(%.2f) %.2f s\n",
                    band->name.c_str(), b, d, found->tempo.value(), band->tempo.value(),
                    to_text(found->metre).c_str(), to_text(band->metre).c_str(),
                    found->swing_ratio.value_or(0.0), band->swing, cost);
            }
            std::fflush(stdout);
        }
        std::printf("%-16s beat F %.3f  downbeat F %.3f  metre right %d, bar 1 right %d of %d\n",
                    name_of(static_cast<Feel>(f)), beats / seeds, downbeats / seeds, right_metre,
                    right_one, seeds);
        all_beats += beats;
        all_downbeats += downbeats;
        metres += right_metre;
        bar_ones += right_one;
        cases += seeds;
    }
    std::printf(
        "all: beat F %.3f  downbeat F %.3f  metre right %d, bar 1 right %d of %d  swing off by "
        "%.1f %%\n",
        all_beats / cases, all_downbeats / cases, metres, bar_ones, cases,
        swung ? 100.0 * all_swing / swung : 0.0);
    return 0;
}
