// Beat following: where the beats of a band recording lie, which begin a bar, and how it swings.
//
// Onset strength in several bands; candidates for the tempo by its self-likeness, each with a row
// of beats by dynamic programming that follows a tempo that breathes; then each row is read in each
// metre from each beat, and the reading for which most speaks is taken (clues.h). Everything is a
// proposal: the player mends it by a tempo hint, by taps, or by dragging beats.
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "engine/bars/bar_map.h"
#include "engine/bars/clues.h"
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
    // Which tempos are tried first: a normal curve over its logarithm (as Ellis 2007, eq. 5, has
    // it, with 120 beats a minute and 0.9 octaves for all music; jazz runs faster).
    Tempo usual{160.0};
    double usual_octaves = 0.57;
};

struct FollowedBeats {
    Tempo tempo;                         // the median beat's
    Metre metre;                         // 3/4, 4/4, 6/8, 12/8, or as set
    std::vector<Seconds> beats;          // recording time, rising
    std::vector<std::size_t> downbeats;  // indices of the beats that begin a bar, from bar 1 on
    int count_in = 0;  // beats before bar 1 that are counted by sticks or a hi-hat alone
    // Long to short eighth: 1 straight, 2 the triplet feel. Empty where hardly anyone plays between
    // the beats, and in compound metre.
    std::optional<double> swing_ratio;

    std::vector<Seconds> downbeat_times() const;
};

// What is heard of a recording before anything is decided. Fails like follow_beats. [worker]
Result<Heard> hear(const Audio& audio, const Work& work = {});
struct RowReadings {
    BeatRow row;
    std::vector<Reading> readings;
};
// Every row of beats that may be meant, with every reading of it. [worker]
std::vector<RowReadings> all_readings(const Heard& heard, const BeatSettings& settings);

// Fails with empty (too short or too quiet to have beats, or nothing is struck on them),
// out_of_range (a hint outside its range), stopped. [worker]
Result<FollowedBeats> follow_beats(const Audio& audio, const BeatSettings& settings = {},
                                   const Work& work = {});

// The bar map of what was followed; bar 1 begins at the first downbeat.
Result<BarMap> to_bar_map(const FollowedBeats& followed);

}  // namespace bentline
