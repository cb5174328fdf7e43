// The pitch wheel: how far a note's inflections carry it from its key, moment by moment.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "engine/notes/note.h"
#include "engine/units.h"

namespace bentline {

// One turn of the wheel: from this time on the note sounds this far from its key.
struct WheelPoint {
    Seconds time;
    Cents away;
};

// The course of one note from its onset to its end, in order of time; empty where it stays on its
// key. A bend rises and falls continuously, as a raised cosine through its measured start, peak and
// release; a slide steps through the semitones, as frets make it; a vibrato is a sine of its rate
// and depth around where the note is; a trill steps to its neighbour and back. What was not
// measured but is needed to sound it is filled in by engine/notes/gesture_spans.h; a slide from or
// to nowhere, whose distance is not known, is left out. next: the key that a slide to the next note
// arrives at, if that note follows.
std::vector<WheelPoint> wheel_course(const Note& note, std::optional<MidiKey> next);

// Largest distance of a course from its key.
Cents reach(const std::vector<WheelPoint>& course);

// The smallest usual wheel range, in semitones, that reaches that far: 2 (the default of MIDI 1.0),
// 12 or 24.
int wheel_range(Cents reach);

// The wheel's position, 0 to 16383, centre 8192 (MIDI 1.0, "Pitch Bend Change"); beyond the range:
// its end.
int wheel_position(Cents away, int range);

}  // namespace bentline
