// What the first and last bytes of a file tell, for where its decoder keeps quiet or only refuses.
// Inside engine/recording only.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

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

// Whether an OGG file breaks off: its last page is cut or is not marked as the last (RFC 3533).
bool ogg_breaks_off(const OpenFile& file);

// Where MPEG frames begin: 0, or behind an ID3v2 tag.
std::int64_t mpeg_start(const OpenFile& file);
// Whether a valid header of an MPEG audio frame stands there (ISO 11172-3, 2.4.1.3).
bool looks_like_mpeg(const OpenFile& file);

// The name of the format whose first bytes these are ("WAV", "FLAC", …), or empty.
std::string format_by_first_bytes(const OpenFile& file);

}  // namespace bentline
