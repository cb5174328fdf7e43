// Generated performances whose written form is known: a random line of bars, and how a player plays
// it.
#pragma once

#include <cstdint>
#include <vector>

#include "engine/bars/bar_map.h"
#include "engine/notes/note.h"
#include "engine/score/score.h"

namespace bentline::testing {

struct PerformanceSettings {
    std::uint64_t seed = 1;
    int bars = 16;
    Metre metre{4, 4};
    double tempo = 140.0;  // quarters (compound: dotted quarters) a minute
    double drift = 0.0;    // the tempo wanders by this share either way
    double swing = 2.0;    // long : short; 1 straight
    double late = 0.0;     // s, behind the beat, constant
    // Each onset strays by up to 25 ms: evenly spread, or near 0 more often (sd 12 ms).
    bool loose = false;
    bool triplets = true;
    bool sixteenths = true;
    bool sextuplets = false;
    bool sweeps = true;
    // Beats from bar 1 on, at least bars + 2 bars of them; without them they are made from tempo
    // and drift.
    std::vector<Seconds> beats;
};

// What is on paper.
struct Written {
    Ticks start;   // from the first beat of bar 1
    Ticks length;  // 0: grace note
};

struct Performance {
    PerformanceSettings settings;
    BarMap bars;  // the true one
    std::vector<Written> written;
    std::vector<Note> played;
};

Performance perform(const PerformanceSettings& settings);

// A spread of performances over tempo (60 to 260), swing (1.5 to 3), drift (to 8 %), lateness (-10
// to 40 ms) and metre, from one seed. What no player can play is left out: sixteenths under 75 ms,
// triplets under 80 ms, short eighths under 75 ms.
std::vector<PerformanceSettings> spread_of_performances(std::uint64_t seed, int count);

}  // namespace bentline::testing
