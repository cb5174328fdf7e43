// What speaks for and against one reading of a recording's beats: which pulse, which metre, which
// beat begins the bar.
//
// A reading is weighed as a whole, so that half and double time, beats and off-beats, and the bar's
// phase are decided together: where harmony changes says as much about the tempo's octave as about
// the bar line. Clues are summed with fixed weights (a log-linear model; the weights were fitted by
// bentline_beat_fit on generated bands and are checked on others). [any]
#pragma once

#include <array>
#include <cstddef>
#include <vector>

#include "engine/bars/metre.h"
#include "engine/bars/onset_strength.h"

namespace bentline {

// One row of beats, as frames of the strength.
using BeatRow = std::vector<double>;

enum class Clue : std::size_t {
    // Of the row alone; strengths are means in units of the strength's own RMS.
    on,          // all bands, on the beats
    half,        // half way between
    third,       // at a third, and
    two_thirds,  // at two
    quarter,     // at one and three quarters
    low_on,      // bass and bass drum on the beats, and
    low_half,    // half way between
    high_on,     // cymbals
    high_half,   //
    mid_on,      // chords, snare
    mid_half,    //
    pickup,      // low strokes half a beat before a beat, less those half a beat after
    uneven,      // difference of every other beat, all bands
    low_uneven,  // and the bass
    harmony,     // change of harmony at the beats, less that half way between
    tempo,       // octaves above 120 a minute, near which people tap by themselves, and
    unusual,     // their square (Parncutt 1994; van Noorden & Moelants 1999)
    unsteady,    // how much beat lengths change from beat to beat
    // Of the bars too. Strengths and changes on the bar's beats, as standard scores over the row,
    // times the root of the number of bars.
    bar_harmony,       // change over two beats at the bar line
    bar_long_harmony,  // change over a bar at the bar line
    bar_raw_harmony,   // the same, not as a standard score: comparable between rows
    middle_harmony,    // change at the third beat of four
    bar_low,           // bass on the bar's first beat
    bar_mid,           // chords, snare
    bar_high,          // cymbals
    middle_low,        // bass on the third beat of four
    back_low,          // bass on beats two and four, less one and three
    back_mid,          // snare
    back_high,         // foot hi-hat
    three_low,         // as the bar's, in bars of three
    three_mid,
    three_high,
    // What kind of bar it is.
    in_three,        // 3/4
    in_three_tempo,  // 3/4: octaves above 120
    two_threes,      // 6/8
    four_threes,     // 12/8
    threes_tempo,    // 6/8 and 12/8: octaves above 120
    threes_struck,   // 6/8 and 12/8: log of the lesser of third and two thirds over `half`
    threes_balance,  // and of third over two thirds: in a shuffle the third is left out
    threes_least,    // and log of it over a weak stroke's
    count_of_clues
};
inline constexpr auto clue_count = static_cast<std::size_t>(Clue::count_of_clues);
using Clues = std::array<double, clue_count>;
const char* name_of(Clue clue);

struct Reading {
    int beats_per_bar = 4;
    bool threes = false;    // beats are dotted quarters: 6/8, 12/8
    std::size_t first = 0;  // index of the first beat that begins a bar
    Clues clues{};
    double score = 0.0;  // clues times weights
    Metre metre() const { return threes ? Metre{beats_per_bar * 3, 8} : Metre{beats_per_bar, 4}; }
};

// What is heard of a recording, on which readings stand.
struct Heard {
    OnsetStrength strength;
    ChromaReader chroma;
    Range<std::size_t> sounding;  // frames, from the first to the last moment that is no silence
    bool tonal = true;            // something lasts between the strokes; clicks have no harmony
};

// Every reading of a row: each metre with each phase. Empty for rows of fewer than four beats.
std::vector<Reading> readings_of(const Heard& heard, const BeatRow& row,
                                 const std::vector<Metre>& metres);

// Mean of a strength at a share of the way from each beat to the next, blurred by a frame either
// side.
double mean_at(const std::vector<float>& strength, const BeatRow& row, double share);

double median_length(const BeatRow& row);

}  // namespace bentline
