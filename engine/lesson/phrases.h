// Where the soloist breathes: a line cut into phrases, and what each is like. [any]
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "engine/bars/bar_map.h"
#include "engine/notes/note.h"

namespace bentline {

struct PhraseRules {
    // A silence this long ends a phrase: beats where there are bars, else seconds. About a quarter
    // rest (common practice, no source).
    double rest_beats = 0.9;
    Seconds rest{0.45};
    Seconds shortest_rest{0.25};  // however fast the beat
    // So does a note that is held this long and this many times as long as its neighbours.
    double held_beats = 1.5;
    Seconds held{0.75};
    double held_times = 2.5;
};

// Notes [first, last) by index, and their sound.
struct SoloPhrase {
    std::size_t first = 0;
    std::size_t last = 0;
    SecondsRange span;
    MidiKey lowest;
    MidiKey highest;
    std::optional<Decibels> level;  // median of its notes
    std::size_t size() const { return last - first; }
};

// Every note is in exactly one phrase. Annotators of real solos agree on boundaries at kappa .81,
// and phrases have 13 notes in the middle (Frieler et al. 2016).
std::vector<SoloPhrase> find_phrases(const std::vector<Note>& notes,
                                     const std::optional<BarMap>& bars,
                                     const PhraseRules& rules = {});

// The length of the beat that is heard at a time.
Seconds beat_at(const BarMap& bars, Seconds time);

// Of the measured levels of notes [first, last); empty where none was measured.
std::optional<Decibels> median_level(const std::vector<Note>& notes, std::size_t first,
                                     std::size_t last);

}  // namespace bentline
