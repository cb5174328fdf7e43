// The figures of a lesson as JSON, for programs. [any]
//
// Times are seconds of the recording ("…_s"), levels dB re full scale ("…_db"), pitches MIDI keys.
// Notes are numbered from 0 in the order of onsets, among the notes that the lesson is about.
// "bar": the bar of a place, only where the draft has bars.
//
//   which            "inked" or "inked and pencilled"
//   notes            how many; length_s, per_second, lowest_midi, highest_midi
//   phrases[]        start_s, end_s, first_note, notes, lowest_midi, highest_midi, level_db, bar
//   median_phrase_notes
//   stretches[]      a bar (or four seconds) each: name, start_s, end_s, notes, per_second,
//                    lowest_midi, highest_midi, level_db; sections[]: the same for the form
//   repeated_notes[] start_s, midi, times
//   motifs[]         likeness ("exact", "transposed", "rhythm"), notes, places[]: first_note,
//                    start_s, transposed_semitones, bar
//   sweeps[]         start_s, notes, upward, per_second, bar
//   replies[]        call_phrase, answer_phrase (numbers of phrases), by ("figure", "rhythm",
//                    "place"), notes_in_common, apart_semitones
//   inflections[]    kind, notes, share, unit, sizes[], median, rate_hz (median), starts_s[]
//   harmony          on_beat and off_beat: notes, chord_tones; degrees[]: degree, chord_tone,
//                    on_beat, off_beat (counts); targets[]: bar, chord, degree, chord_tone, start_s
//   rhythm           swing_ratio, late_ms, longest_run: start_s, notes, per_second
//   remarks[]        topic, sentence, figure, where, places_s[]
//   practice[]       where, start_s, end_s, what, speeds_percent[]
//   phrase_order[]   first_note, notes, where, busiest_per_second, speeds_percent[]: in the order
//                    to take them up, short phrases joined to a neighbour
//
// A figure that could not be measured is left out.
#pragma once

#include <string>

#include "engine/draft/draft.h"

namespace bentline {

std::string lesson_json(const Draft& draft, WhichNotes which);

}  // namespace bentline
