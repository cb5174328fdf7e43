// A band whose beats are known: bass, drums, chords and a soloist in several metres and feels,
// played by a soundfont, with a tempo that stands or breathes.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "engine/bars/metre.h"
#include "engine/recording/audio.h"
#include "engine/result.h"
#include "tests/corpus/accompaniment.h"

namespace bentline::testing {

enum class Feel {
    swing,
    ballad,
    even_eighths,
    backbeat,
    waltz,
    shuffle_in_twelve,
    six_eight,
    two_beat,         // the bass in halves, quick
    four_to_the_bar,  // no drums: guitar chords on every beat, bass in two
    shuffle,          // a backbeat over swung eighths
};
inline constexpr int feels = 10;
const char* name_of(Feel feel);

// Who keeps time.
enum class Drums {
    usual,
    none,     // a duo or trio without a drummer
    brushes,  // sweeps and soft taps, the foot on two and four
    breaks,   // as usual, but for four bars in the middle he is alone and free
};

struct Band;

struct BandSettings {
    Feel feel = Feel::swing;
    std::uint64_t seed = 1;
    double drift = 0.0;  // share of the tempo, either way
    Seconds length{30.0};
    bool drums_alone = false;
    Drums drums = Drums::usual;
    std::optional<Tempo> tempo;   // else drawn from the seed
    std::optional<double> swing;  // long to short, in feels that swing; else drawn
    // Plays the solo over a band whose beats, metre, swing and tonic stand; without it he
    // improvises.
    std::function<std::vector<corpus::BandNote>(const Band&)> soloist;
};

struct Band {
    std::string name;
    Metre metre;
    Tempo tempo;         // the mean
    double swing = 1.0;  // long to short
    std::vector<Seconds> beats;
    int tonic = 0;                   // pitch class of the key, major
    std::vector<Seconds> downbeats;  // from bar 1 on, where the band enters
    int count_in_beats = 0;          // of side stick alone, before bar 1; among the beats
    Audio audio;
};

// Everything else (tempo, swing, instruments, soundfont, who is loud) is drawn from the seed.
Result<Band> play_band(const BandSettings& settings);

}  // namespace bentline::testing
