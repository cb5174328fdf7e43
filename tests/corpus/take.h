// A phrase as sound, with the truth that belongs to it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/notes/note.h"
#include "engine/recording/audio.h"
#include "engine/recording/focus.h"
#include "engine/units.h"
#include "tests/corpus/lead_voice.h"
#include "tests/corpus/phrase.h"

namespace bentline::corpus {

// The step of the truth's pitch rows, from time 0: that of the machine-readable curve.
inline constexpr Seconds row_step{0.010};
// A note that dies away by itself ends where its level has fallen this far under the loudest moment
// of its phrase, whatever the hand does later.
inline constexpr Decibels audible_range{50.0};

// What a perfect listener would hand back.
struct Truth {
    std::vector<Note> notes;  // by onset, not overlapping; confidence and reason empty
    std::vector<std::optional<Hertz>> rows;  // one each row_step, empty where the soloist is silent
    Cents tuning;                            // of the recording as a whole
    std::vector<Seconds> beats{};            // as the band plays them
};

struct Take {
    std::string name;  // "FluidR3_GM 26, seed 3"
    Audio audio;
    Truth truth;
    Focus focus;  // what a user who points at the soloist would give: his register and his place
};

// The lead alone, dry and mono, with its truth. Notes end where the damped string has fallen by 20
// dB (a third of its release), at the next pluck, or where they are no longer audible.
struct LeadTrack {
    std::vector<float> samples;
    Truth truth;
};
LeadTrack render_lead(const Phrase& phrase, LeadVoice& voice, std::uint64_t seed);

}  // namespace bentline::corpus
