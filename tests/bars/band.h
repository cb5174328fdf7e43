// A band whose beats are known: bass, drums, chords and a soloist in several metres and feels,
// played by a soundfont, with a tempo that stands or breathes.
#pragma once

#include <string>
#include <vector>

#include "engine/bars/metre.h"
#include "engine/recording/audio.h"
#include "engine/result.h"

namespace bentline::testing {

enum class Feel { swing, ballad, even_eighths, backbeat, waltz, shuffle_in_twelve, six_eight };
const char* name_of(Feel feel);

struct BandSettings {
    Feel feel = Feel::swing;
    std::uint64_t seed = 1;
    double drift = 0.0;  // share of the tempo, either way
    Seconds length{30.0};
};

struct Band {
    std::string name;
    Metre metre;
    Tempo tempo;         // the mean
    double swing = 1.0;  // long to short
    std::vector<Seconds> beats;
    std::vector<Seconds> downbeats;
    Audio audio;
};

// Everything else (tempo, swing, instruments, soundfont, who is loud) is drawn from the seed.
Result<Band> play_band(const BandSettings& settings);

// Share of beats found and right, F-measure within 70 ms, the first five seconds left out (the beat
// metric of MIREX as mir_eval computes it).
double beat_f_measure(std::vector<Seconds> truth, std::vector<Seconds> found);

}  // namespace bentline::testing
