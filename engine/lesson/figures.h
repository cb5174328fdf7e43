// What a solo does, in figures: everything that the lesson sheet says is counted or measured here.
//
// Values only. Works without a bar map (stretches of four seconds instead of bars, no written
// rhythm), without chords, without levels, and for no notes at all. Places are indices of notes.
// [any]
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "engine/draft/draft.h"
#include "engine/lesson/motifs.h"
#include "engine/lesson/phrases.h"
#include "engine/units.h"

namespace bentline {

// A bar, a section of the form or, without bars, four seconds.
struct Stretch {
    std::string name;  // "bar 3", "B, bars 9–16", "8–12 s"
    SecondsRange span;
    std::size_t notes = 0;  // that begin in it
    double per_second = 0.0;
    std::optional<MidiKey> lowest;
    std::optional<MidiKey> highest;
    std::optional<Decibels> level;  // median
};

// The same key struck again and again: notes [first, last), at least three.
struct RepeatedNote {
    std::size_t first = 0;
    std::size_t last = 0;
};

// One note a string across neighbouring strings, or a fast arpeggio: notes [first, last).
struct Sweep {
    std::size_t first = 0;
    std::size_t last = 0;
    bool upward = false;
    double per_second = 0.0;
};

// A phrase that answers the one before it.
struct Reply {
    std::size_t call = 0;  // index of a phrase; the answer is the next one
    enum class By { figure, rhythm, place } by = By::figure;
    std::size_t steps = 0;  // taken up in pitch and rhythm, or in rhythm
    double apart = 0.0;     // semitones between the middles of the two: positive, the answer higher
};

// The notes with an inflection of one kind, and its sizes.
struct InflectionFigures {
    std::string kind;  // as kind_name()
    std::vector<std::size_t> notes;
    std::string unit;           // of the sizes: "cents", "semitones", or empty
    std::vector<double> sizes;  // one for each note that has a measured one
    std::vector<double> rates;  // Hz, of vibrato
};

// How a note stands to the chord under it. Notes outside the bars of the chart have none.
struct ChordNote {
    std::size_t note = 0;
    int bar = 1;
    std::string chord;
    std::string degree;       // "R", "3", "b7", "9", "#11" …
    bool chord_tone = false;  // root, third, fifth, sixth or seventh of the symbol
    bool on_beat = false;
    bool downbeat = false;  // the first beat of its bar
};

struct RhythmFigures {
    std::optional<double> swing;  // long : short; empty where no off-beats tell
    std::optional<Seconds> late;  // behind the beat; negative: ahead
    std::size_t run_first = 0;    // the longest run: notes [run_first, run_last)
    std::size_t run_last = 0;
    double run_per_second = 0.0;
};

struct LessonFigures {
    std::vector<Note> notes;
    std::vector<double> times;  // of the onsets: beats where there are bars, else seconds
    std::vector<SoloPhrase> phrases;
    std::vector<Stretch> stretches;
    std::vector<Stretch> sections;  // empty without a form
    std::vector<RepeatedNote> repeated;
    std::vector<Motif> motifs;
    std::vector<Sweep> sweeps;
    std::vector<Reply> replies;
    std::vector<InflectionFigures> inflections;  // only kinds that occur
    std::vector<ChordNote> chord_notes;          // empty without bars or chords
    RhythmFigures rhythm;

    Seconds length() const;        // from the first onset to the last offset
    double median_phrase() const;  // notes
};

LessonFigures figure_out(const Draft& draft, WhichNotes which);

// Inner part: the notes against the chords, and the written rhythm.
std::vector<ChordNote> against_chords(const Draft& draft, const std::vector<Note>& notes);
RhythmFigures rhythm_of(const Draft& draft, const LessonFigures& figures);

double median_of(std::vector<double> values);  // 0 for none

}  // namespace bentline
