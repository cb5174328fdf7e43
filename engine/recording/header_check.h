// What a header promises against what is there, for files whose decoder quietly shortens itself.
// Inside engine/recording only.
#pragma once

#include <cstdint>
#include <optional>

#include "engine/recording/open_file.h"

namespace bentline {

// The bytes of sound that the header promises and those that follow it in the file.
struct SoundBytes {
    std::int64_t promised = 0;
    std::int64_t there = 0;
};

// Walks the chunks of a WAV, RF64 or AIFF file to its sound (EBU Tech 3306; AIFF 1.3). Empty where
// there is no sound chunk, no promise (a size that the writer left open: 0 or all ones), or another
// kind of file.
std::optional<SoundBytes> sound_bytes(const OpenFile& file);

}  // namespace bentline
