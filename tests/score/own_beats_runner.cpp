// Prints how much of a solo is written right over beats that were followed, not given: a band is
// played with a soloist whose written form is known, its beats are followed, and his notes are
// quantised over them.
//   bentline_own_beats_runner [first seed] [seeds] [--each]
// Two counts: as it comes out; and after "bar 1 is here" was said once where the bars were counted
// from another bar.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <map>

#include "engine/bars/bar_edits.h"
#include "engine/bars/beats.h"
#include "engine/score/quantise.h"
#include "tests/bars/band.h"
#include "tests/score/performance.h"
#include "tests/score/solo_over.h"

using namespace bentline;
using namespace bentline::testing;

namespace {

struct Share {
    int right = 0;
    int mended = 0;
    int notes = 0;
};

Share compare(const Performance& p, const BarMap& own) {
    const QuantisedLine line = quantise(p.played, own);
    const std::int64_t bar = std::llround(4.0 * 480 * own.metre().count / own.metre().unit);
    Share share;
    std::map<std::int64_t, int> by_bars;  // right after counting from that many bars later
    for (std::size_t i = 0; i < p.played.size(); ++i) {
        ++share.notes;
        if (line.notes[i].grace() != (p.written[i].length == Ticks(0))) continue;
        const std::int64_t off = (line.notes[i].start - p.written[i].start).value();
        if (off == 0) ++share.right;
        if (off % bar == 0) ++by_bars[off / bar];
    }
    for (const auto& [bars, right] : by_bars)
        share.mended = std::max(share.mended, right);
    return share;
}

}  // namespace

int main(int argc, char** argv) {
    const int first = argc > 1 ? std::atoi(argv[1]) : 101;
    const int seeds = argc > 2 ? std::atoi(argv[2]) : 3;
    const bool each = argc > 3 && std::strcmp(argv[3], "--each") == 0;
    Share all;
    int performances = 0;
    for (int f = 0; f < feels; ++f) {
        Share of_feel;
        for (int seed = first; seed < first + seeds; ++seed) {
            for (const double drift : {0.0, 0.08}) {
                Performance played{{}, BarMap::constant(Tempo(120), Seconds(0)).value(), {}, {}};
                BandSettings settings;
                settings.feel = static_cast<Feel>(f);
                settings.seed = static_cast<std::uint64_t>(seed);
                settings.drift = drift;
                settings.soloist = [&](const Band& band) {
                    played = solo_over(band, settings.seed);
                    return as_band_notes(played);
                };
                const auto band = play_band(settings);
                if (!band) {
                    std::fprintf(stderr, "%s\n", band.failure().sentence.c_str());
                    return 1;
                }
                ++performances;
                const auto followed = follow_beats(band->audio);
                const auto map =
                    followed ? to_bar_map(*followed) : Result<BarMap>(followed.failure());
                Share share{0, 0, static_cast<int>(played.played.size())};
                if (map) share = compare(played, *map);
                if (each) {
                    std::printf(
                        "  %-24s drift %.2f  right %.3f  mended %.3f  metre %s (%s)\n",
                        band->name.c_str(), drift, static_cast<double>(share.right) / share.notes,
                        static_cast<double>(share.mended) / share.notes,
                        map ? to_text(map->metre()).c_str() : "none", to_text(band->metre).c_str());
                    std::fflush(stdout);
                }
                for (Share* sum : {&all, &of_feel}) {
                    sum->right += share.right;
                    sum->mended += share.mended;
                    sum->notes += share.notes;
                }
            }
        }
        std::printf("%-16s written onset right %.3f, with bar 1 set %.3f, of %d notes\n",
                    name_of(static_cast<Feel>(f)),
                    static_cast<double>(of_feel.right) / of_feel.notes,
                    static_cast<double>(of_feel.mended) / of_feel.notes, of_feel.notes);
        std::fflush(stdout);
    }
    std::printf("all %d: written onset right %.3f, with bar 1 set %.3f, of %d notes\n",
                performances, static_cast<double>(all.right) / all.notes,
                static_cast<double>(all.mended) / all.notes, all.notes);
    return 0;
}
