// Beat following: where the beats of a band recording lie, which begin a bar, and how it swings.
//
// Onset strength in several bands; tempo by its self-likeness, the octave by where the band strikes
// between the beats and by how usual the tempo is; beats by dynamic programming that follows a
// tempo that breathes; metre and bar lines by changes of harmony, bass and drum pattern. Everything
// is a proposal: the player mends it by a tempo hint, by taps, or by dragging beats.
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "engine/bars/bar_map.h"
#include "engine/bars/metre.h"
#include "engine/recording/audio.h"
#include "engine/result.h"
#include "engine/units.h"
#include "engine/work.h"

namespace bentline {

struct BeatSettings {
    // Within a fifth or so of the true tempo: only tempos near it are tried. 30 to 320.
    std::optional<Tempo> tempo_hint;
    // Where it is known; else 3/4, 4/4, 6/8 and 12/8 are tried.
    std::optional<Metre> metre;
    // The range that is tried without a hint.
    Tempo slowest{40.0};
    Tempo fastest{300.0};
    // How usual a tempo is: a normal curve over its logarithm (as Ellis 2007, eq. 5, has it, with
    // 120 beats a minute and 0.9 octaves for all music). These are fitted together with the other
    // evidence.
    Tempo usual{160.0};
    double usual_octaves = 0.57;
};

struct FollowedBeats {
    Tempo tempo;                         // the median beat's
    Metre metre;                         // 3/4, 4/4, 6/8, 12/8, or as set
    std::vector<Seconds> beats;          // recording time, rising
    std::vector<std::size_t> downbeats;  // indices of the beats that begin a bar
    // Long to short eighth: 1 straight, 2 the triplet feel. Empty where hardly anyone plays between
    // the beats, and in compound metre.
    std::optional<double> swing_ratio;

    std::vector<Seconds> downbeat_times() const;
};

// Fails with empty (too short or too quiet to have beats), out_of_range (a hint outside its range),
// stopped. [worker]
Result<FollowedBeats> follow_beats(const Audio& audio, const BeatSettings& settings = {},
                                   const Work& work = {});

// The bar map of what was followed; bar 1 begins at the first downbeat.
Result<BarMap> to_bar_map(const FollowedBeats& followed);

}  // namespace bentline
