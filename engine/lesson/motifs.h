// Figures that come back: note for note, on another step, or in their rhythm alone. [any]
#pragma once

#include <cstddef>
#include <vector>

#include "engine/lesson/phrases.h"
#include "engine/notes/note.h"

namespace bentline {

enum class Likeness { exact, transposed, rhythm };
const char* to_text(Likeness likeness);

struct MotifRules {
    std::size_t fewest_notes = 4;   // of a figure of pitches and rhythm
    std::size_t fewest_rhythm = 5;  // of a rhythm alone
    std::size_t most_notes = 16;
    // Two distances of onsets are alike within the larger of this share and this much (of the unit
    // of `times`): players place a note within about 25 ms either way.
    double alike_share = 0.2;
    double alike = 0.08;
    // A rhythm alone is a figure only when its longest step is this many times its shortest.
    double uneven = 1.6;
    std::size_t most_motifs = 12;
};

struct MotifPlace {
    std::size_t first = 0;  // index of its first note
    int transposed = 0;     // semitones above the first place
    friend bool operator==(const MotifPlace&, const MotifPlace&) = default;
};

// Exact: every place on the same keys. Transposed: some on others. Places do not overlap.
struct Motif {
    Likeness likeness = Likeness::exact;
    std::size_t notes = 0;
    std::vector<MotifPlace> places;  // at least two, in order
};

// The figures that explain most of the line, each note in at most one; the largest first. A figure
// lies within one phrase, and a plain run in even notes, or one note again and again, is none.
// times: onset of each note, in beats or seconds; rises.
std::vector<Motif> find_motifs(const std::vector<Note>& notes,
                               const std::vector<SoloPhrase>& phrases,
                               const std::vector<double>& times, const MotifRules& rules = {});

// How many steps two stretches of the line have in common from their beginnings on, in pitch and
// rhythm or in rhythm alone.
std::size_t steps_alike(const std::vector<Note>& notes, const std::vector<double>& times,
                        std::size_t a, std::size_t b, std::size_t most, bool rhythm_only,
                        const MotifRules& rules = {});

}  // namespace bentline
