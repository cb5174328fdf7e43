// fingerprint: the same recording keeps its mark, another one has another.
#include <chrono>
#include <filesystem>
#include <string>

#include <doctest/doctest.h>

#include "engine/recording/fingerprint.h"
#include "tests/recording/sound_files.h"

using namespace bentline;
using namespace bentline::testing;
namespace fs = std::filesystem;

namespace {

constexpr int wav_16 = SF_FORMAT_WAV | SF_FORMAT_PCM_16;

Fingerprint mark_of(const fs::path& path) {
    const auto recording = Recording::open(path);
    REQUIRE(recording.ok());
    const auto mark = fingerprint(*recording);
    REQUIRE(mark.ok());
    return *mark;
}

}  // namespace

TEST_CASE("fingerprint: FNV-1a, 64 bit, gives its published values") {
    // Test vectors of the FNV draft (draft-eastlake-fnv, appendix C).
    CHECK(fnv1a("") == 0xcbf29ce484222325ULL);
    CHECK(fnv1a("a") == 0xaf63dc4c8601ec8cULL);
    CHECK(fnv1a("foobar") == 0x85944171f73967e8ULL);
    CHECK(fnv1a("bar", fnv1a("foo")) == fnv1a("foobar"));
}

TEST_CASE("fingerprint: stable under copying, renaming and a new date") {
    const Folder folder;
    write_sound(folder / "a.wav", wav_16, lively(44100, 2, 100000));
    const Fingerprint mark = mark_of(folder / "a.wav");
    CHECK(mark.rate == SampleRate(44100));
    CHECK(mark.channels == 2);
    CHECK(mark.frames == Frames(100000));
    fs::copy_file(folder / "a.wav", folder / "b.wav");
    CHECK(mark_of(folder / "b.wav") == mark);
    fs::rename(folder / "a.wav", folder / "c.flac");
    fs::last_write_time(folder / "c.flac",
                        fs::last_write_time(folder / "c.flac") - std::chrono::hours(1000));
    CHECK(mark_of(folder / "c.flac") == mark);
}

TEST_CASE("fingerprint: any changed byte of a small file changes it") {
    const Folder folder;
    write_sound(folder / "a.wav", wav_16, lively(44100, 1, 100000));
    const std::string bytes = bytes_of(folder / "a.wav");
    const Fingerprint mark = mark_of(folder / "a.wav");
    Dice dice(5);
    for (int i = 0; i < 50; ++i) {
        std::string other = bytes;
        const auto at =
            static_cast<std::size_t>(dice.whole(44, static_cast<int>(bytes.size()) - 1));
        other[at] = static_cast<char>(other[at] ^ (1 << dice.whole(0, 7)));
        put_bytes(folder / "b.wav", other);
        CHECK_FALSE(mark_of(folder / "b.wav") == mark);
    }
}

TEST_CASE("fingerprint: a large file is told from another, from its cut and its louder self") {
    const Folder folder;
    const Audio audio = lively(44100, 2, 2000000);  // 8 MB, more than is hashed as a whole
    write_sound(folder / "a.wav", wav_16, audio);
    REQUIRE(fs::file_size(folder / "a.wav") > fingerprint_whole_bytes);
    const Fingerprint mark = mark_of(folder / "a.wav");

    write_sound(folder / "b.wav", wav_16, lively(44100, 2, 2000000, 2));
    CHECK_FALSE(mark_of(folder / "b.wav") == mark);

    Audio cut = audio;
    for (auto& channel : cut.channels)
        channel.resize(1900000);
    write_sound(folder / "b.wav", wav_16, cut);
    CHECK_FALSE(mark_of(folder / "b.wav") == mark);

    Audio louder = audio;
    for (auto& channel : louder.channels) {
        for (float& x : channel)
            x *= 1.01F;
    }
    write_sound(folder / "b.wav", wav_16, louder);
    CHECK_FALSE(mark_of(folder / "b.wav") == mark);

    // The last frame changed: the last block is always looked at.
    std::string bytes = bytes_of(folder / "a.wav");
    bytes.back() = static_cast<char>(bytes.back() ^ 1);
    put_bytes(folder / "b.wav", bytes);
    CHECK_FALSE(mark_of(folder / "b.wav") == mark);
}

TEST_CASE("fingerprint: to words and back") {
    const Fingerprint mark{SampleRate(44100), 2, Frames(1048576), 6291500, 0x0123456789abcdefULL};
    CHECK(to_string(mark) == "44100-2-1048576-6291500-0123456789abcdef");
    CHECK(parse_fingerprint(to_string(mark)) == mark);
    const Fingerprint small{SampleRate(8000), 1, Frames(1), 46, 1};
    CHECK(parse_fingerprint(to_string(small)) == small);
    for (const char* wrong : {"", "44100", "44100-2-1048576-6291500", "44100-2-1048576-6291500-",
                              "44100-2-1048576-6291500-0123456789abcdef0", "a-2-3-4-5",
                              "44100-2-1048576-6291500-012345678 9abcdef", "1-2-3-4-5-6"}) {
        CAPTURE(std::string(wrong));
        CHECK_FALSE(parse_fingerprint(wrong).has_value());
    }
}

TEST_CASE("fingerprint: a recording that went away is reported") {
    const Folder folder;
    write_sound(folder / "a.wav", wav_16, lively(44100, 1, 1000));
    const auto recording = Recording::open(folder / "a.wav");
    REQUIRE(recording.ok());
    fs::remove(folder / "a.wav");
    const auto mark = fingerprint(*recording);
    REQUIRE_FALSE(mark.ok());
    CHECK(mark.failure().kind == FailureKind::gone);
}
