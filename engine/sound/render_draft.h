// A draft as sound in memory or in a file, alone or beside its recording.
#pragma once

#include <filesystem>
#include <optional>

#include "engine/recording/audio.h"
#include "engine/recording/recording.h"
#include "engine/result.h"
#include "engine/sound/played_part.h"
#include "engine/sound/plucked_string.h"
#include "engine/units.h"
#include "engine/work.h"

namespace bentline {

// The draft's voice, mono, over a span of recording time at a speed (0.1 to 2). The first frame is
// heard at `span.from`; length round((span length) / speed * rate) frames. [worker]
Result<Audio> render_part(const PlayedPart& part, SecondsRange span, double speed, SampleRate rate,
                          const Work& work = {});

struct PlayFileSettings {
    double speed = 1.0;
    // With a recording: 0 it alone, 0.5 both in full, 1 the draft alone (second_source.h).
    double balance = 0.5;
    bool split = false;  // the recording on the left, the draft on the right
};

// Writes the draft alone, mono, at `rate`. The file is whole or not there; its true peak stays
// below -1 dBTP (a limiter). Failures as render_part and WavWriter. [worker]
Result<Done> write_part(const PlayedPart& part, SecondsRange span, const PlayFileSettings& settings,
                        SampleRate rate, const std::filesystem::path& target,
                        const Work& work = {});
// Writes the draft beside its recording, stereo, at the recording's rate. Where the span leaves the
// recording, the draft goes on alone. Memory: the span of the recording and a block. [worker]
Result<Done> write_part_beside(const PlayedPart& part, const Recording& recording,
                               SecondsRange span, const PlayFileSettings& settings,
                               const std::filesystem::path& target, const Work& work = {});

// From 0.3 s before the first note to 1 s after the last, not before 0; empty for a part without
// notes.
std::optional<SecondsRange> span_of_part(const PlayedPart& part);

}  // namespace bentline
