// Which sign each measured inflection gets on paper, and how loud a phrase is marked: one table.
// [any]
#pragma once

#include <optional>
#include <vector>

#include "engine/notes/note.h"
#include "engine/score/score.h"

namespace bentline {

// Measured inflection        -> sign
//   bend, released, pre-bent -> arrow with the nearest of ¼ ½ ¾ 1 …
//   slide in, origin heard   -> grace note at the origin and a line
//   slide in from nowhere    -> scoop
//   slide to the next note   -> line between the heads
//   slide out                -> fall, or doit where it goes up
//   vibrato                  -> wavy line, wide or not
//   trill, staccato, accent  -> tr with its note, dot, wedge
struct SignRules {
    // Below this an inflection is left out of the score (it stays in the draft): more likely wrong
    // than right.
    double least_confidence = 0.35;
    // Smaller rises are not meant as bends: melodies are called out of tune only beyond 20 to 25
    // cents (facts of hearing quoted in the project's references), and a string pressed hard rises
    // by about 10.
    Cents least_bend{30.0};
    // Shallower swings are how a held note trembles, not a vibrato a player puts on: about twice
    // the pitch difference that trained ears notice on steady tones (2 to 5 cents).
    Cents least_vibrato{10.0};
    // Fewer cycles are a wobble.
    double least_cycles = 2.0;
    // From here on drawn wide. Strings' usual extent ends at 35 cents (Timmers & Desain 2000: .2 to
    // .35 semitone).
    Cents wide_vibrato{35.0};

    // Dynamics: distance of a phrase's middle level from the chorus's, dB, at which p begins to be
    // pp, mp p, mf mp, f mf, ff f. Steps near 5 dB: half a loudness doubling (10 dB a doubling,
    // Stevens 1955, from memory).
    std::vector<double> dynamic_steps{-12.0, -7.0, -2.5, 2.5, 7.0};
    // A new mark needs at least this much change since the last one, or phrases near a step's edge
    // flicker.
    Decibels least_step{3.0};
    // A rest this long ends a phrase.
    Ticks phrase_rest = quarter;
    // A hairpin: at least three notes, and a change that is well over one step of dynamics.
    int hairpin_notes = 3;
    Decibels hairpin_change{7.0};
    // How far a note may fall back inside a hairpin: levels of equal strokes differ by about this.
    Decibels hairpin_slack{1.0};
};

struct NoteSigns {
    std::optional<MidiKey> slid_from;  // a grace note at the origin of a slide in
    std::optional<int> trill;          // semitones; the sign needs a spelled neighbour
    std::vector<Sign> first;           // on the first head of a tie
    std::vector<Sign> last;            // on its last
};
NoteSigns signs_of(const Note& note, const SignRules& rules = {});

// Where a note begins on paper, for dynamics.
struct LoudNote {
    std::size_t measure = 0;
    std::size_t event = 0;
    Ticks at;  // from the first beat of bar 1
    Ticks end;
    std::optional<Decibels> level;
};
// Writes dynamics into the score's measures and hairpins over them. Phrases without levels get
// none.
void write_dynamics(Score& score, const std::vector<LoudNote>& notes, const SignRules& rules = {});

}  // namespace bentline
