// Notes with the evidence for them, before it is decided which of them are pencilled.
#pragma once

#include <array>
#include <cstddef>
#include <vector>

#include "engine/notes/find_notes.h"

namespace bentline::notes {

// What speaks for a note being one that the soloist played.
enum Telling : std::size_t {
    tracker_trust,   // mean of the tracker's confidence, 0 to 1
    likeness,        // mean self-similarity of the sound, 0 to 1
    was_struck,      // 1 where it begins with a pluck
    pluck_odds,      // log-odds of that pluck / 4, -0.5 to 1.5
    was_slid_to,     // 1 where it follows a slide or a slur
    length_octaves,  // log2(length / 0.2 s), -3 to 3
    under_lead,      // level against the lead's usual level around, decibels / 10, -4 to 1
    out_of_tune,     // distance from its key, cents / 20, 0 to 2
    share_of_sound,  // level of its harmonics against the whole, decibels / 10, -3 to 0.5
    register_leap,   // distance from the middle of its neighbours, octaves, 0 to 3
    very_short,      // 0 at 60 ms and more, 1 at 30 ms and less
    pitch_doubt,     // 1 where no steady pitch was found
    least_trust,     // lower tenth of the tracker's confidence, 0 to 1
    rivalry,         // the tracker's posterior of another pitch: log10(p + 1e-3) / 3 + 1, 0 to 1
    crowd,           // how little alike the sound around is to itself: 1 - mean over the notes near
    since_last,      // log2(time since the onset before / 0.2 s), -3 to 3
    same_again,      // 1 where the note before has the same key and hardly ends before it
    telling_count
};
using TellingVector = std::array<double, telling_count>;

struct WeighedNote {
    Note note;  // confidence: by the model, of the note alone; inflections: as read
    TellingVector telling{};
    double struck_level = -120.0;  // of its own partials at its onset, dB re full scale
};

// All that may be notes, sorted by onset, not overlapping. As find_notes() in all else. [worker]
Result<std::vector<WeighedNote>> weigh_notes(const Audio& audio, const PitchCurve& curve,
                                             const Focus& focus, const Hints& hints,
                                             const NoteSettings& settings, const Work& work);

}  // namespace bentline::notes
