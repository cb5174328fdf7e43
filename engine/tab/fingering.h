// Fingering: a string, a fret and a finger for every note of a line, as one path of least effort.
//
// The method is the shortest path over all ways to play each note (S. I. Sayegh, "Fingering for
// string instruments with the optimum path paradigm", Computer Music Journal 13(3), 1989); what
// counts as effort is ours: hand shifts, stretches, string crossings, all the dearer the faster
// they come.
//
// Rules of the instrument that are never broken:
// - a spot sounds its note's written pitch, on a string and fret that the neck has;
// - a bent, pre-bent, shaken or slid note is fretted, not open;
// - a slide to the next note and a slur (`slurred`) keep the string; what a slide comes from or
// goes to
//   lies on the same string; so does a trill's other note;
// - of a unison bend, the two notes lie on neighbouring strings, the bent one on the lower-pitched;
// - a sweep takes one string a note, neighbour by neighbour, in one hand position;
// - notes that sound together lie on different strings, within the hand's span.
// Where the rules leave a note no spot, or the neck does not have its pitch, the note is left
// without one and says why: as few notes as can be. Pins are kept: a pinned note is played on its
// string, or, where the rules forbid that string, not at all.
//
// Deterministic: of equal efforts the one that comes first in a fixed order is taken. A line of 200
// notes takes under 20 ms (tests/bench). [any]
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "engine/draft/neck.h"
#include "engine/notes/note.h"
#include "engine/result.h"
#include "engine/work.h"

namespace bentline {

// "This note is played on this string."
struct StringPin {
    std::size_t note = 0;  // index into the notes
    int string = 1;
    friend bool operator==(const StringPin&, const StringPin&) = default;
};

// Notes [first, last) by index.
struct NoteSpan {
    std::size_t first = 0;
    std::size_t last = 0;
    friend bool operator==(const NoteSpan&, const NoteSpan&) = default;
};

// Two notes that sound together in unison: one bent up to the pitch of the other.
struct UnisonBend {
    std::size_t bent = 0;
    std::size_t held = 0;
    friend bool operator==(const UnisonBend&, const UnisonBend&) = default;
};

struct FingeringRequest {
    std::vector<Note> notes;  // sorted by onset; written pitches
    Neck neck;
    std::vector<StringPin> pins;           // at most one a note
    std::vector<NoteSpan> sweeps;          // see find_sweeps(); at most one string for each note
    std::vector<UnisonBend> unison_bends;  // see find_unison_bends(); of notes next to each other
    std::vector<std::size_t>
        slurred;  // notes that are hammered on or pulled off from the one before
};

// The weights of effort; all at least 0. They are our own judgement of what players choose (common
// practice, no source), in units of one: the effort of moving the hand one fret in half a second.
struct FingeringSettings {
    double shift = 1.0;            // to begin a hand shift
    double shift_a_fret = 0.6;     // and for each fret of it
    double slide_shift = 0.1;      // each fret of a shift that a slide makes anyway
    double stretch = 0.8;          // first finger a fret back or fourth a fret on
    double crossing = 0.3;         // to the neighbouring string
    double skipped_string = 0.45;  // each further one
    double same_finger = 1.2;      // one finger on two different spots in a row, not sliding
    double slide_finger = 3.0;     // another finger arriving than the one that left, in a slide
    double open_string = 0.5;      // its sound stands out of a fretted line
    double high_fret = 0.08;  // each fret above the twelfth, times the string's number: a thick
                              // string sounds dull there, and its frets are hard to reach
    double fourth_finger = 0.1;
    double bend_string = 1.5;  // a bend of a half step or more on strings 4 and beyond
    double bend_fret = 0.25;   // each fret that it lies outside 5 to 17
    double bend_finger = 0.8;  // with the first finger or the fourth
    double trill_reach = 1.5;  // each fret of a trill's other note beyond the hand's reach
    double unplaced = 1e6;     // leaving a note out: never worth it
    Seconds together{0.05};    // notes that overlap by less do not sound together: onsets and ends
                               // are not measured more closely
    Seconds unhurried{0.5};    // a move with this much time costs what is stated; with less, more
                               // in proportion, up to `most_hurry` times
    double most_hurry = 6.0;
    double least_hurry = 0.5;  // with ever more time it costs no less than this
};

struct FingeredNote {
    std::optional<Spot> spot;  // empty: see `problem`
    int finger = 0;            // 1 to 4; 0: open string, or no spot
    int hand = 1;              // fret under the first finger when it lies relaxed
    std::string problem;       // why there is no spot, one sentence; else empty
    friend bool operator==(const FingeredNote&, const FingeredNote&) = default;
};

struct Fingering {
    std::vector<FingeredNote> notes;  // one for each note
    double effort = 0.0;              // the path's total
    friend bool operator==(const Fingering&, const Fingering&) = default;
};

// The fingering of least effort. Failures: out_of_range (a pin, sweep or unison bend that names a
// note or string that is not there, or two pins on one note; notes not in order), stopped.
Result<Fingering> find_fingering(const FingeringRequest& request,
                                 const FingeringSettings& settings = {}, const Work& work = {});

// Up to `count` (1 to 3) fingerings of the notes in `passage`, the best first, that are really
// different: from each to each earlier one at least a quarter of the passage's notes (at least one,
// at most eight) lie on another string. Each is the best with that property. Outside the passage
// all keep the strings of the best one. Fewer where there are no more. Failures as find_fingering.
Result<std::vector<Fingering>> find_alternatives(const FingeringRequest& request, NoteSpan passage,
                                                 int count = 3,
                                                 const FingeringSettings& settings = {},
                                                 const Work& work = {});

// Runs of three or more notes in one direction, each step 3 to 7 semitones and at most `step` after
// the one before, that the neck lets be swept: candidates for FingeringRequest::sweeps.
std::vector<NoteSpan> find_sweeps(const std::vector<Note>& notes, const Neck& neck,
                                  Seconds step = Seconds(0.08));

// Bent notes that reach the pitch of a note next to them with which they sound together.
std::vector<UnisonBend> find_unison_bends(const std::vector<Note>& notes);

}  // namespace bentline
