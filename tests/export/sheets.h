// Generated choruses with every sign on them, ready to engrave.
#pragma once

#include <cstdint>

#include "engine/export/engraving/engraving.h"

namespace bentline::testing {

struct EngravedDraft {
    Score score;
    engraving::TabPlan tab;
};

struct SheetMix {
    std::uint64_t seed = 1;
    int bars = 32;
    Metre metre{4, 4};
    Key key{-3, false};
    double signs = 0.35;  // share of notes with an inflection
    int strings = 6;
    bool chords = true;
    bool loose = true;
};

// A random line of bars (tests/score/performance.h) with bends, slides, scoops, falls, vibrato,
// trills, dots, accents, dynamics, chords and section letters, written and fingered.
EngravedDraft chorus(const SheetMix& mix);

// The i-th of a spread over metres, keys, density and signs.
SheetMix spread_of_choruses(std::uint64_t i);

}  // namespace bentline::testing
