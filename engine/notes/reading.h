// From the pieces of the pitch line to notes: what each pluck sets in motion, read as music.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "engine/notes/attacks.h"
#include "engine/notes/fine_line.h"
#include "engine/notes/note.h"
#include "engine/notes/note_settings.h"
#include "engine/notes/pieces.h"

namespace bentline::notes {

// A pitch that is held for a while (or, of no length, a turning point or an end of a move).
struct Hold {
    std::size_t from = 0;  // points of the line
    std::size_t to = 0;
    double cents = 0.0;
    bool swinging = false;
};

// What one pluck (or one entrance without a pluck) sounds: holds, and moves between them.
struct Gesture {
    std::vector<Hold> holds;  // at least one; sorted
    std::size_t from = 0;     // points of the line
    std::size_t to = 0;
    int pluck = -1;      // of Attacks::plucks; -1: it came in without one
    bool loose = false;  // no steady pitch was found
};

// A note before its length and weight are known.
struct ReadNote {
    std::size_t from = 0;  // points of the line
    std::size_t to = 0;
    double onset = 0.0;  // seconds
    int pluck = -1;
    bool slid_to = false;     // it follows a slide or a slur, not a pluck
    double cents = 0.0;       // of the struck pitch, in FineLine's cents
    std::vector<Hold> plain;  // where it is neither bent nor sliding
    std::vector<Inflection> inflections;
    double read_odds = 0.0;  // natural log-odds that this is how it is played
};

// The gestures of a breath.
std::vector<Gesture> gestures_of(const Breath& breath, const FineLine& line, const Attacks& attacks,
                                 const NoteSettings& settings);

// The notes of a gesture with slides, bends and trills; at least one, sorted, not overlapping.
std::vector<ReadNote> read_gesture(const Gesture& gesture, const FineLine& line,
                                   const Attacks& attacks, const std::vector<double>& weights,
                                   const NoteSettings& settings);

// Adds the vibrato of a note, if it has one.
void read_vibrato(ReadNote& note, const FineLine& line, const std::vector<double>& weights,
                  const NoteSettings& settings);

}  // namespace bentline::notes
