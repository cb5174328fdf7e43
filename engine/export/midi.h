// A draft as a Standard MIDI File, format 1: plain, or with the wheel following every inflection.
//
// Track 0: title, tempo and metre from the bar map, key, section letters as markers, chords as
// text. Track 1: the notes on channel 1, at their sounding pitch and the recording's own time.
//
// With inflections: the wheel's range is set first (RPN 0, then the null RPN), to the smallest
// usual one that reaches the draft's largest inflection; the wheel is set before a note begins that
// starts off its key, follows wheel_course() through the note, and goes back to the centre after
// it: at the next note's onset, or wheel_rest after its own end, whichever is earlier, so that a
// fading sound does not jump. A slid-into next note is a note of its own, as in the draft: the
// sliding note steps up to it and ends there, and it begins softer, as it is not struck. A trill is
// one note whose pitch alternates. Staccato is the note's own measured length. [any]
//
// Accuracy: every onset and end within tick_accuracy (engine/export/tick_map.h).
// Sources: Standard MIDI Files 1.0; MIDI 1.0 (registered parameter 0, pitch bend sensitivity).
#pragma once

#include <filesystem>

#include "engine/draft/draft.h"
#include "engine/export/smf.h"
#include "engine/result.h"

namespace bentline {

inline constexpr Seconds wheel_rest{0.1};

struct MidiSettings {
    WhichNotes which = WhichNotes::inked;
    bool plain = false;  // without the wheel
    // 0 to 127, General MIDI level 1 (from memory): 26 is the jazz guitar.
    int program = 26;
    // Velocity of a note of the line's median level, or of unmeasured level. 1 to 127.
    int usual_velocity = 80;
    // Added for an accent, on top of its level. 0 to 127.
    int accent = 12;
    // Share of the velocity that a note keeps which is slid into and not struck. 0 to 1.
    double unstruck = 0.7;
};

// Velocity of a note `above` the line's median level: usual * 10^(above / 40 dB), the inverse of
// the usual 40 log10(127 / velocity) dB of attenuation (SoundFont 2.04, 8.4.1, from memory); 1 to
// 127.
int velocity_of(Decibels above, int usual);

// Fails with out_of_range where there is no note to write.
Result<Bytes> midi_bytes(const Draft& draft, const MidiSettings& settings = {});

// Writes it to a file, atomically. Also fails with cannot_write.
Result<Done> export_midi(const Draft& draft, const std::filesystem::path& path,
                         const MidiSettings& settings = {});

}  // namespace bentline
