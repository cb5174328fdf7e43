// Hashes evenly spread blocks of the file.
#include "engine/recording/fingerprint.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cinttypes>
#include <cstdio>
#include <fstream>
#include <limits>
#include <vector>

namespace bentline {

namespace {

Failure file_failure(FailureKind kind, const std::filesystem::path& path, const std::string& what) {
    return Failure{kind, path.string() + " " + what, Place{path.string(), {}, {}}};
}

// Takes the next number off the front of text, and the dash after it.
template <class Number>
bool take_number(std::string_view& text, Number& number, int base, bool last) {
    const char* end = text.data() + text.size();
    const auto [stop, error] = std::from_chars(text.data(), end, number, base);
    if (error != std::errc{}) return false;
    if (last) return stop == end;
    if (stop == end || *stop != '-') return false;
    text.remove_prefix(static_cast<std::size_t>(stop - text.data()) + 1);
    return true;
}

}  // namespace

std::uint64_t fnv1a(std::string_view bytes, std::uint64_t hash) {
    constexpr std::uint64_t prime = 0x100000001b3ULL;
    for (const char c : bytes)
        hash = (hash ^ static_cast<unsigned char>(c)) * prime;
    return hash;
}

Result<Fingerprint> fingerprint(const Recording& recording) {
    const RecordingInfo& info = recording.info();
    std::ifstream in(info.path, std::ios::binary);
    std::error_code error;
    const std::uintmax_t size = std::filesystem::file_size(info.path, error);
    if (!in || error) {
        return file_failure(
            FailureKind::gone, info.path,
            "was there when it was opened and is no longer; put it back and open it again");
    }
    Fingerprint mark{info.rate, info.file_channels, info.frames, static_cast<std::int64_t>(size),
                     fnv_offset};
    const bool whole = size <= fingerprint_whole_bytes;
    const std::size_t blocks =
        whole ? (size + fingerprint_block_bytes - 1) / fingerprint_block_bytes : fingerprint_blocks;
    std::vector<char> block(fingerprint_block_bytes);
    for (std::size_t b = 0; b < blocks; ++b) {
        const std::uintmax_t at = whole ? b * fingerprint_block_bytes
                                        : (size - fingerprint_block_bytes) * b / (blocks - 1);
        const std::size_t length = std::min<std::uintmax_t>(fingerprint_block_bytes, size - at);
        in.seekg(static_cast<std::streamoff>(at));
        in.read(block.data(), static_cast<std::streamsize>(length));
        if (!in) {
            return file_failure(FailureKind::unreadable, info.path,
                                "cannot be read to its end; check the disk it is on");
        }
        mark.hash = fnv1a(std::string_view(block.data(), length), mark.hash);
    }
    return mark;
}

std::string to_string(const Fingerprint& mark) {
    std::array<char, 120> text{};
    std::snprintf(text.data(), text.size(), "%d-%d-%" PRId64 "-%" PRId64 "-%016" PRIx64,
                  mark.rate.value(), mark.channels, mark.frames.value(), mark.bytes, mark.hash);
    return text.data();
}

std::optional<Fingerprint> parse_fingerprint(std::string_view text) {
    int rate = 0;
    std::int64_t frames = 0;
    Fingerprint mark;
    constexpr std::size_t digits = 16;
    const std::size_t last_dash = text.rfind('-');
    if (last_dash == std::string_view::npos || text.size() - last_dash - 1 != digits) {
        return std::nullopt;
    }
    const bool good =
        take_number(text, rate, 10, false) && take_number(text, mark.channels, 10, false) &&
        take_number(text, frames, 10, false) && take_number(text, mark.bytes, 10, false) &&
        take_number(text, mark.hash, 16, true);
    if (!good) return std::nullopt;
    mark.rate = SampleRate(rate);
    mark.frames = Frames(frames);
    return mark;
}

}  // namespace bentline
