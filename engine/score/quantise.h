// Quantising: from when notes were played to where they are written.
//
// The line is cut into pulses (quarters; dotted quarters in compound metres). Each pulse takes one
// grid, eighths (swung or not: written alike), triplets, sixteenths, sextuplets or, in slow music,
// thirty-seconds; two pulses together may take quarter-note triplets. Each note takes one place on
// a grid or none (a grace note). One search over the whole line finds the cheapest choice of all
// together: how far notes lie from their places, how hard each pulse's pattern is to read, how fast
// its grid would run, and what its neighbour does. The swing ratio and how far the player leans
// back behind the beat are found with it, over the line. Where notes end is decided last, in
// written time. [any]
//
// Method: a minimum-cost path over grids in the spirit of the probabilistic quantisers of Cemgil,
// Desain & Kappen (Computer Music Journal 24(2), 2000, "Rhythm Quantization for Transcription"):
// likelihood of the timing deviation, prior by complexity of the notation. The costs are our own.
#pragma once

#include <optional>
#include <vector>

#include "engine/bars/bar_map.h"
#include "engine/bars/form.h"
#include "engine/notes/note.h"
#include "engine/score/score.h"

namespace bentline {

struct QuantiseSettings {
    // Spread of a good player's onsets around where he means them, s. 25 ms either way is the human
    // deviation that the project aims at; Nelias et al. 2022 see soloists' beats up to 30 ms late.
    Seconds spread{0.016};
    // Extra spread of an off-beat eighth, share of a pulse: swing is not one number for a chorus.
    double swing_spread = 0.035;
    // A note whose follower comes sooner than this may be a grace note, s. 60 ms is near the
    // shortest sixteenth that is played (250 beats a minute).
    Seconds grace{0.060};
    // A grid whose steps are shorter than this costs more the shorter they get, s.
    Seconds fast_step{0.085};
    // Swing of the chorus, long : short, if known (1 is straight). Empty: found from the notes.
    std::optional<double> swing;
    // The tune's sections. Those under one letter share a feel; it is kept apart from the other
    // letters' where it clearly differs.
    Form form;
    // How far the line is behind the beat, if known. Empty: found from the notes, -30 to 70 ms.
    std::optional<Seconds> late;
};

enum class Grid {
    eighths,
    triplets,
    sixteenths,
    sextuplets,
    thirty_seconds,
    quarter_triplets,  // three over this pulse and the next, which is second_of_pair
    second_of_pair,
};

// A pulse of a written bar.
struct Pulse {
    int bar = 1;
    Ticks start;  // from the first beat of bar 1; negative before it
    Ticks length;
    Seconds from;  // in the recording
    Seconds to;
    bool compound = false;
    Grid grid = Grid::eighths;
    friend bool operator==(const Pulse&, const Pulse&) = default;
};

struct WrittenNote {
    Ticks start;   // from the first beat of bar 1
    Ticks length;  // 0: a grace note before the next note that has a length
    bool grace() const { return length == Ticks(0); }
    friend bool operator==(const WrittenNote&, const WrittenNote&) = default;
};

// From this bar on, off-beat eighths are played long : short in this ratio; 1 is straight.
struct SwingFrom {
    int bar = 1;
    double ratio = 1.0;
    friend bool operator==(const SwingFrom&, const SwingFrom&) = default;
};

struct QuantisedLine {
    std::vector<WrittenNote> notes;  // one for each note given, in order; they never overlap
    std::vector<Pulse> pulses;       // whole bars, without gaps, over all notes
    double swing = 1.0;              // long : short of the off-beat eighths; 1 where there are none
    std::vector<SwingFrom> swings;   // the first at the first bar; more where a section differs
    Seconds late;                    // behind the beat
    double cost = 0.0;               // of the path: lower is surer; compare only for the same notes
};

// notes: sorted by onset, without overlaps (as a draft keeps them). The bars written run from the
// first note's, or bar 1 if that is earlier, to the last note's, or `last_bar` if that is later.
QuantisedLine quantise(const std::vector<Note>& notes, const BarMap& bars, int last_bar = 1,
                       const QuantiseSettings& settings = {});

}  // namespace bentline
