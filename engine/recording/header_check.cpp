// A walk over the chunks of a file, reading nothing but their headers.
#include "engine/recording/header_check.h"

#include <algorithm>
#include <string>

namespace bentline {

namespace {

constexpr std::uint64_t left_open = 0xFFFFFFFF;
constexpr int most_chunks = 10000;  // a damaged file could hold millions of empty ones

std::uint64_t number(const std::string& bytes, std::size_t at, std::size_t length,
                     bool big_endian) {
    std::uint64_t value = 0;
    for (std::size_t i = 0; i < length; ++i) {
        const std::size_t from = big_endian ? at + i : at + length - 1 - i;
        value = value << 8U | static_cast<unsigned char>(bytes[from]);
    }
    return value;
}

}  // namespace

std::optional<SoundBytes> sound_bytes(const OpenFile& file) {
    const std::string head = file.bytes(0, 12);
    if (head.size() < 12) return std::nullopt;
    const std::string outer = head.substr(0, 4);
    const std::string inner = head.substr(8, 4);
    const bool aiff = outer == "FORM" && (inner == "AIFF" || inner == "AIFC");
    const bool big = aiff || outer == "RIFX";
    const bool wav = (outer == "RIFF" || outer == "RIFX" || outer == "RF64") && inner == "WAVE";
    if (!aiff && !wav) return std::nullopt;

    std::optional<std::uint64_t> large_size;  // of the sound chunk, from the ds64 chunk of RF64
    std::int64_t at = 12;
    for (int i = 0; i < most_chunks; ++i) {
        const std::string chunk = file.bytes(at, 8);
        if (chunk.size() < 8) return std::nullopt;
        const std::string name = chunk.substr(0, 4);
        std::uint64_t size = number(chunk, 4, 4, big);
        at += 8;
        if (name == "ds64") {
            const std::string sizes = file.bytes(at, 16);
            if (sizes.size() == 16) large_size = number(sizes, 8, 8, false);
        }
        if ((wav && name == "data") || (aiff && name == "SSND")) {
            if (size == left_open && large_size) size = *large_size;
            if (size == 0 || size == left_open) return std::nullopt;
            constexpr std::uint64_t largest = 1ULL << 62U;
            return SoundBytes{static_cast<std::int64_t>(std::min(size, largest)), file.size() - at};
        }
        at += static_cast<std::int64_t>(size + size % 2);
        if (at >= file.size()) return std::nullopt;
    }
    return std::nullopt;
}

}  // namespace bentline
