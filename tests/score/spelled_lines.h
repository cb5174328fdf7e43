// Lines whose spelling is known from how they were made: on the line of fifths, from key and chord.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "engine/bars/chord.h"
#include "engine/bars/form.h"
#include "engine/score/spell.h"

namespace bentline::testing {

struct SpelledLine {
    Key key;
    std::vector<std::string> names;  // the truth, "Eb4"
    std::vector<MidiKey> keys;
    std::vector<int> chord_of;  // index into chords
    std::vector<Chord> chords;
    // The line as the speller takes it; valid while this lives.
    std::vector<SpellingNote> notes(bool with_chords) const;
};

// About `length` notes in a major key: scale runs, arpeggios of diatonic and borrowed chords,
// chromatic passing notes up and down, enclosures.
SpelledLine spelled_line(std::uint64_t seed, int fifths, int length);

}  // namespace bentline::testing
