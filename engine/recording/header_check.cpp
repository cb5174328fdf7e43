// Reads headers byte by byte; nothing here decodes sound.
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

bool ogg_breaks_off(const OpenFile& file) {
    constexpr std::int64_t largest_page = 65307;  // RFC 3533 section 6
    const std::int64_t from = std::max<std::int64_t>(0, file.size() - 2 * largest_page);
    const std::string tail = file.bytes(from, static_cast<std::size_t>(file.size() - from));
    constexpr std::size_t header = 27;
    const std::size_t page = tail.rfind("OggS");
    if (page == std::string::npos || page + header > tail.size()) return true;
    const auto segments = static_cast<unsigned char>(tail[page + 26]);
    std::size_t length = header + segments;
    if (page + length > tail.size()) return true;
    for (std::size_t i = 0; i < segments; ++i) {
        length += static_cast<unsigned char>(tail[page + header + i]);
    }
    const bool marked_last = (tail[page + 5] & 4) != 0;
    return page + length > tail.size() || !marked_last;
}

std::int64_t mpeg_start(const OpenFile& file) {
    const std::string head = file.bytes(0, 10);
    if (head.size() < 10 || head.compare(0, 3, "ID3") != 0) return 0;
    std::int64_t size = 0;  // four times seven bits (ID3v2.3 section 3.1)
    for (std::size_t i = 6; i < 10; ++i)
        size = size * 128 + (head[i] & 0x7F);
    return size + 10;
}

bool looks_like_mpeg(const OpenFile& file) {
    const std::string bytes = file.bytes(mpeg_start(file), 4);
    if (bytes.size() < 4) return false;
    const std::uint64_t word = number(bytes, 0, 4, true);
    const bool sync = word >> 21U == 0x7FF;
    const std::uint64_t version = word >> 19U & 3U;
    const std::uint64_t layer = word >> 17U & 3U;
    const std::uint64_t bitrate = word >> 12U & 15U;
    const std::uint64_t rate = word >> 10U & 3U;
    return sync && version != 1 && layer != 0 && bitrate != 15 && rate != 3;
}

std::string format_by_first_bytes(const OpenFile& file) {
    const std::string head = file.bytes(0, 12);
    const auto begins = [&](const char* mark) { return head.rfind(mark, 0) == 0; };
    if (begins("RIFF") || begins("RIFX") || begins("RF64")) return "WAV";
    if (begins("FORM")) return "AIFF";
    if (begins("fLaC")) return "FLAC";
    if (begins("OggS")) return "OGG";
    if (begins("ID3")) return "MP3";
    return "";
}

}  // namespace bentline
