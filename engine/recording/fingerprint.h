// A short mark of a recording's content, by which a draft knows its recording again.
//
// It holds the format's figures (rate, channels, frames), the file's size and a hash of bytes of
// the file: all of them up to fingerprint_whole_bytes, else evenly spread blocks of
// fingerprint_block_bytes that include the first and the last. Bytes, not decoded samples, so that
// it is the same on every machine and with every version of a decoder; and quick, because a file of
// hours reads as much as one of minutes.
//
// It catches: another recording under the same name; another encoding, cut, gain, rate or channel
// count; a file that is cut short; any changed byte of a file up to fingerprint_whole_bytes.
// It does not catch: a change of the same length that lies wholly between the blocks of a larger
// file (an edit of a few samples in a WAV); a change made on purpose to deceive, because the hash
// is no cryptographic one. It is stable under moving, renaming and copying. It changes when tags
// (title, player) are edited, though the sound is the same: then the draft asks, and the player
// says that it is the same.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "engine/recording/recording.h"
#include "engine/result.h"
#include "engine/units.h"

namespace bentline {

inline constexpr std::size_t fingerprint_whole_bytes = 4U << 20U;
inline constexpr std::size_t fingerprint_block_bytes = 1U << 16U;
inline constexpr std::size_t fingerprint_blocks = 64;

struct Fingerprint {
    SampleRate rate;
    int channels = 0;  // of the file
    Frames frames;
    std::int64_t bytes = 0;
    std::uint64_t hash = 0;  // FNV-1a, 64 bit
    friend bool operator==(const Fingerprint&, const Fingerprint&) = default;
};

// Reads up to fingerprint_whole_bytes of the recording's file. Failures: gone, unreadable. [worker]
Result<Fingerprint> fingerprint(const Recording& recording);

// One word for a file: "44100-2-1048576-6291500-0123456789abcdef"; and back, empty where it is
// none.
std::string to_string(const Fingerprint& mark);
std::optional<Fingerprint> parse_fingerprint(std::string_view text);

// FNV-1a over bytes, going on from `hash` (Fowler, Noll & Vo; draft-eastlake-fnv, 64 bit).
inline constexpr std::uint64_t fnv_offset = 0xcbf29ce484222325ULL;
std::uint64_t fnv1a(std::string_view bytes, std::uint64_t hash = fnv_offset);

}  // namespace bentline
