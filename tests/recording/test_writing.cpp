// writing: a file is wholly there or not at all, and a WAV holds what was written.
#include <cerrno>
#include <csignal>
#include <cstddef>
#include <filesystem>
#include <string>
#include <vector>

#include <doctest/doctest.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "engine/recording/atomic_file.h"
#include "engine/recording/recording.h"
#include "engine/recording/wav_file.h"
#include "tests/recording/small_disk.h"
#include "tests/recording/sound_files.h"

using namespace bentline;
using namespace bentline::testing;
namespace fs = std::filesystem;

namespace {

void check_cannot_write(const Result<Done>& result, const fs::path& path) {
    REQUIRE_FALSE(result.ok());
    CHECK(result.failure().kind == FailureKind::cannot_write);
    CHECK(result.failure().sentence.find(path.string()) != std::string::npos);
    CHECK(result.failure().sentence.find("; ") != std::string::npos);
}

}  // namespace

TEST_CASE("writing: bytes arrive, old ones are replaced, nothing else is left") {
    const Folder folder;
    const std::string odd("a\0b\r\n\xFF", 6);
    REQUIRE(write_file(folder / "a", odd).ok());
    CHECK(bytes_of(folder / "a") == odd);
    REQUIRE(write_file(folder / "a", "new").ok());
    CHECK(bytes_of(folder / "a") == "new");
    REQUIRE(write_file(folder / "b", "").ok());
    CHECK(bytes_of(folder / "b").empty());
    CHECK(entries(folder.path()) == 2);
}

TEST_CASE("writing: without commit the old file stays and nothing else is left") {
    const Folder folder;
    REQUIRE(write_file(folder / "a", "old").ok());
    {
        auto half = AtomicFile::create(folder / "a");
        REQUIRE(half.ok());
        REQUIRE(half->write("new").ok());
        CHECK(bytes_of(folder / "a") == "old");
        AtomicFile moved = std::move(*half);
        REQUIRE(moved.write("er").ok());
    }
    CHECK(bytes_of(folder / "a") == "old");
    CHECK(entries(folder.path()) == 1);
}

TEST_CASE("writing: a killed program leaves nothing half-written") {
    const Folder folder;
    REQUIRE(write_file(folder / "a", "old").ok());
    const pid_t child = ::fork();
    REQUIRE(child >= 0);
    if (child == 0) {
        auto half = AtomicFile::create(folder / "a");
        if (half && half->write("new")) ::kill(::getpid(), SIGKILL);
        ::_exit(1);
    }
    int status = 0;
    ::waitpid(child, &status, 0);
    REQUIRE(WIFSIGNALED(status));
    CHECK(bytes_of(folder / "a") == "old");
    // File systems without nameless files keep the hidden temporary one; never a half of the
    // target.
    for (const auto& entry : fs::directory_iterator(folder.path())) {
        const std::string name = entry.path().filename().string();
        CHECK((name == "a" || name.find(".part") != std::string::npos));
    }
}

TEST_CASE("writing: a missing folder, a folder as target, an empty name, a name too long") {
    const Folder folder;
    for (const fs::path& path : {folder.path() / "no" / "a", folder.path(), folder.path() / "",
                                 fs::path(), folder / std::string(300, 'x')}) {
        CAPTURE(path.string());
        check_cannot_write(write_file(path, "words"), path);
    }
    CHECK(entries(folder.path()) == 0);
    REQUIRE(write_file(folder / std::string(255, 'x'), "words").ok());  // the longest that goes
    CHECK(entries(folder.path()) == 1);
}

TEST_CASE("writing: a full disk") {
    check_cannot_write(write_file("/dev/full", std::string(100000, 'x')), "/dev/full");
    CHECK(fs::is_character_file("/dev/full"));
    const Folder folder;
    REQUIRE(write_file(folder / "a", "old").ok());
    {
        const SmallDisk disk(5000);
        check_cannot_write(write_file(folder / "a", std::string(10000, 'x')), folder / "a");
    }
    CHECK(bytes_of(folder / "a") == "old");
    CHECK(entries(folder.path()) == 1);
    CHECK(write_failure("x", ENOSPC).sentence ==
          "cannot write x: the disk is full; free some space or "
          "choose another folder");
}

TEST_CASE("writing: a folder that goes away in between") {
    const Folder folder;
    fs::create_directory(folder / "inner");
    const fs::path path = folder.path() / "inner" / "a";
    auto file = AtomicFile::create(path);
    REQUIRE(file.ok());
    REQUIRE(file->write("words").ok());
    fs::remove_all(folder / "inner");
    check_cannot_write(file->commit(), path);
    CHECK(entries(folder.path()) == 0);
}

TEST_CASE("writing: links stay links, permissions stay") {
    const Folder folder;
    REQUIRE(write_file(folder / "real", "old").ok());
    fs::permissions(folder / "real", fs::perms::owner_read | fs::perms::owner_write);
    fs::create_symlink("real", folder / "link");
    fs::create_symlink("link", folder / "second");
    REQUIRE(write_file(folder / "second", "new").ok());
    CHECK(fs::is_symlink(folder / "link"));
    CHECK(fs::is_symlink(folder / "second"));
    CHECK(bytes_of(folder / "real") == "new");
    CHECK(fs::status(folder / "real").permissions() ==
          (fs::perms::owner_read | fs::perms::owner_write));
    fs::create_symlink("not yet there", folder / "early");
    REQUIRE(write_file(folder / "early", "late").ok());
    CHECK(bytes_of(folder / "not yet there") == "late");
    fs::create_symlink("circle", folder / "circle");
    check_cannot_write(write_file(folder / "circle", "words"), folder / "circle");
}

TEST_CASE("writing: a pipe is written straight through") {
    const Folder folder;
    REQUIRE(::mkfifo((folder / "pipe").c_str(), 0600) == 0);
    const pid_t child = ::fork();
    REQUIRE(child >= 0);
    if (child == 0) ::_exit(bytes_of(folder / "pipe") == "words" ? 0 : 1);
    REQUIRE(write_file(folder / "pipe", "words").ok());
    int status = 0;
    ::waitpid(child, &status, 0);
    CHECK(status == 0);
    CHECK(fs::is_fifo(folder / "pipe"));
}

TEST_CASE("writing: a WAV comes back, as float to the bit, as 24 bit to one step") {
    const Folder folder;
    for (const std::size_t channels : {1U, 2U}) {
        const Audio audio = lively(48000, channels, 100001);
        REQUIRE(write_wav(folder / "a.wav", audio, WavSamples::float32).ok());
        auto recording = Recording::open(folder / "a.wav");
        REQUIRE(recording.ok());
        CHECK(recording->info().format == "WAV, 32 bit float");
        CHECK(recording->info().rate == SampleRate(48000));
        CHECK(recording->read_all()->channels == audio.channels);

        REQUIRE(write_wav(folder / "a.wav", audio).ok());
        recording = Recording::open(folder / "a.wav");
        REQUIRE(recording.ok());
        CHECK(recording->info().format == "WAV, 24 bit");
        const auto back = recording->read_all();
        for (std::size_t c = 0; c < channels; ++c) {
            CHECK(largest_difference(back->channels[c], audio.channels[c]) <= 0x1.0p-23);
        }
    }
    CHECK(entries(folder.path()) == 1);
}

TEST_CASE("writing: 24 bit clips beyond full scale instead of wrapping round") {
    const Folder folder;
    const Audio audio{SampleRate(48000), Frames(0), {{0.0F, 1.0F, 1.5F, -1.0F, -1.5F, 100.0F}}};
    REQUIRE(write_wav(folder / "a.wav", audio).ok());
    const auto back = Recording::open(folder / "a.wav")->read_all();
    REQUIRE(back.ok());
    const std::vector<float> want = {0.0F, 1.0F, 1.0F, -1.0F, -1.0F, 1.0F};
    CHECK(largest_difference(back->channels[0], want) <= 0x1.0p-22);
}

TEST_CASE("writing: the same sound gives the same bytes, in blocks or at once") {
    const Folder folder;
    const Audio audio = lively(44100, 2, 150000);
    for (const WavSamples samples : {WavSamples::pcm24, WavSamples::float32}) {
        REQUIRE(write_wav(folder / "a.wav", audio, samples).ok());
        auto writer = WavWriter::create(folder / "b.wav", audio.rate, 2, samples);
        REQUIRE(writer.ok());
        for (std::size_t at = 0; at < 150000;) {
            const std::size_t size = std::min<std::size_t>(997, 150000 - at);
            Audio block{audio.rate, Frames(0), {}};
            for (const auto& channel : audio.channels) {
                const auto from = channel.begin() + static_cast<std::ptrdiff_t>(at);
                block.channels.emplace_back(from, from + static_cast<std::ptrdiff_t>(size));
            }
            REQUIRE(writer->write(block).ok());
            at += size;
        }
        CHECK(writer->written() == Frames(150000));
        CHECK_FALSE(fs::exists(folder / "b.wav"));
        REQUIRE(writer->finish().ok());
        CHECK(bytes_of(folder / "a.wav") == bytes_of(folder / "b.wav"));
        CHECK(bytes_of(folder / "a.wav").substr(0, 4) == "RIFF");
        fs::remove(folder / "b.wav");
    }
    // A peak chunk would hold the time of writing, and differ from one second to the next.
    const std::string floats = bytes_of(folder / "a.wav");
    REQUIRE(floats.find("data") < 256);
    CHECK(floats.substr(0, floats.find("data")).find("PEAK") == std::string::npos);
}

TEST_CASE("writing: a WAV that does not fit leaves nothing, and the old one stays") {
    const Folder folder;
    const Audio audio = lively(44100, 2, 200000);
    put_bytes(folder / "a.wav", "old");
    {
        const SmallDisk disk(300000);
        check_cannot_write(write_wav(folder / "a.wav", audio), folder / "a.wav");
        check_cannot_write(write_wav(folder / "b.wav", audio), folder / "b.wav");
    }
    CHECK(bytes_of(folder / "a.wav") == "old");
    CHECK(entries(folder.path()) == 1);
    check_cannot_write(write_wav(folder.path() / "no" / "a.wav", audio), folder.path() / "no");
    check_cannot_write(write_wav("/dev/full", audio), "/dev/full");
}

TEST_CASE("writing: a stopped WAV leaves nothing") {
    const Folder folder;
    std::stop_source stop;
    const Work work{[&](double share) {
                        if (share > 0.3) stop.request_stop();
                    },
                    stop.get_token()};
    const auto result =
        write_wav(folder / "a.wav", lively(44100, 1, 400000), WavSamples::pcm24, work);
    REQUIRE_FALSE(result.ok());
    CHECK(result.failure().kind == FailureKind::stopped);
    CHECK(entries(folder.path()) == 0);
}

TEST_CASE("writing: an empty WAV is a header that says so") {
    const Folder folder;
    REQUIRE(write_wav(folder / "a.wav", Audio{SampleRate(44100), Frames(0), {{}}}).ok());
    SF_INFO info{};
    SNDFILE* file = sf_open((folder / "a.wav").c_str(), SFM_READ, &info);
    REQUIRE(file != nullptr);
    CHECK(info.frames == 0);
    sf_close(file);
}
