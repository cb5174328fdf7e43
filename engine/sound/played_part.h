// What the plucked-string voice plays: a draft's notes as a row of strokes, made once, then only
// read. [any]
#pragma once

#include <optional>
#include <vector>

#include "engine/draft/draft.h"
#include "engine/sound/pitch_course.h"
#include "engine/units.h"

namespace bentline {

struct VoiceSettings {
    bool plain = false;  // keys and lengths only: no inflections, every note struck
    WhichNotes which = WhichNotes::inked;
    SlideManner slides = SlideManner::stepped;
    // Level of the draft's middle note just after the stroke: RMS of 20 ms, dB re full scale. -40
    // to -12.
    Decibels middle{-20.0};
    // Levels further from the middle one are drawn in to this.
    Decibels quietest{-14.0};
    Decibels loudest{6.0};
    Decibels accent{2.0};  // on top of the measured level: a hard stroke is brighter, too
};

// A note as it is sounded. Trivially copyable: the audio thread keeps copies.
struct PlayedNote {
    Seconds onset;
    Seconds offset;
    bool struck = true;  // false: the string sounds on, into this note
    bool accent = false;
    bool staccato = false;
    Decibels level;         // as VoiceSettings::middle
    bool measured = false;  // the level is the note's own, not the middle one
    PitchCourse course;
    friend bool operator==(const PlayedNote&, const PlayedNote&) = default;
};

struct PlayedPart {
    std::vector<PlayedNote> notes;  // sorted by onset, not overlapping
    Cents tuning;                   // of the recording, so that both sound together
    friend bool operator==(const PlayedPart&, const PlayedPart&) = default;
};

PlayedPart prepare(const Draft& draft, const VoiceSettings& settings = {});

// The level at which a draft stands beside its recording: the median of the measured levels, kept
// within -40 to -12 dB; empty where none was measured.
std::optional<Decibels> measured_middle(const Draft& draft);

}  // namespace bentline
