// failures: whatever is wrong with a file has its own kind and a sentence that says what to do.
#include <array>
#include <chrono>
#include <cmath>
#include <filesystem>
#include <functional>
#include <limits>
#include <string>
#include <vector>

#include <doctest/doctest.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "engine/recording/recording.h"
#include "tests/recording/sound_files.h"

using namespace bentline;
using namespace bentline::testing;
namespace fs = std::filesystem;

namespace {

constexpr int wav_16 = SF_FORMAT_WAV | SF_FORMAT_PCM_16;
constexpr int wav_float = SF_FORMAT_WAV | SF_FORMAT_FLOAT;

// The failure of opening a file; it names the file and says in a second part what to do.
Failure open_failure(const fs::path& path) {
    const auto opened = Recording::open(path);
    REQUIRE_FALSE(opened.ok());
    const Failure failure = opened.failure();
    CHECK(failure.place.path == path.string());
    CHECK(failure.sentence.find(path.string()) != std::string::npos);
    CHECK(failure.sentence.find("; ") != std::string::npos);
    CHECK(failure.sentence.find('\n') == std::string::npos);
    return failure;
}

Failure read_failure(const Recording& recording) {
    const auto read = recording.read_all();
    REQUIRE_FALSE(read.ok());
    CHECK(read.failure().sentence.find(recording.info().path.string()) != std::string::npos);
    CHECK(read.failure().sentence.find("; ") != std::string::npos);
    return read.failure();
}

}  // namespace

TEST_CASE("failures: not there, in no folder, a folder, nothing in it, a pipe") {
    const Folder folder;
    CHECK(open_failure(folder / "missing.wav").kind == FailureKind::not_found);
    put_bytes(folder / "file", "x");
    CHECK(open_failure(folder.path() / "file" / "inside.wav").kind == FailureKind::not_found);
    CHECK(open_failure(folder.path()).kind == FailureKind::unreadable);
    CHECK(open_failure(folder.path()).sentence.find("is a folder") != std::string::npos);
    put_bytes(folder / "empty.wav", "");
    CHECK(open_failure(folder / "empty.wav").kind == FailureKind::empty);
    REQUIRE(::mkfifo((folder / "pipe").c_str(), 0600) == 0);
    CHECK(open_failure(folder / "pipe").kind == FailureKind::unreadable);
    CHECK(open_failure("/dev/null").kind == FailureKind::unreadable);
}

TEST_CASE("failures: a name too long for the file system") {
    const Folder folder;
    CHECK(open_failure(folder / std::string(300, 'a')).kind == FailureKind::unreadable);
}

TEST_CASE("failures: no permission") {
    const Folder folder;
    const fs::path path = folder / "a.wav";
    write_sound(path, wav_16, lively(44100, 1, 1000));
    fs::permissions(path, fs::perms::none);
    fs::permissions(folder.path(), fs::perms::owner_all | fs::perms::others_exec);
    // Root may read everything, so a child gives that up and answers through its exit code.
    const pid_t child = ::fork();
    REQUIRE(child >= 0);
    if (child == 0) {
        if (::getuid() == 0 && ::setuid(65534) != 0) ::_exit(100);
        const auto opened = Recording::open(path);
        ::_exit(opened.ok() ? 101 : static_cast<int>(opened.failure().kind));
    }
    int status = 0;
    ::waitpid(child, &status, 0);
    REQUIRE(WIFEXITED(status));
    CHECK(WEXITSTATUS(status) == static_cast<int>(FailureKind::unreadable));
}

TEST_CASE("failures: text, noise and pictures are no sound files") {
    const Folder folder;
    put_bytes(folder / "a.wav", "These are words, not sound, however long they go on.\n");
    CHECK(open_failure(folder / "a.wav").kind == FailureKind::not_audio);
    Dice dice(3);
    std::string noise(20000, '\0');
    for (char& c : noise)
        c = static_cast<char>(dice.whole(0, 255));
    put_bytes(folder / "b.flac", noise);
    CHECK(open_failure(folder / "b.flac").kind == FailureKind::not_audio);
    put_bytes(folder / "c.png", std::string("\x89PNG\r\n\x1a\n", 8) + std::string(500, '\0'));
    CHECK(open_failure(folder / "c.png").kind == FailureKind::not_audio);
    put_bytes(folder / "d.mp3", std::string("\xFF\xFB\x90\x00", 4) + std::string(40, '\0'));
    CHECK(open_failure(folder / "d.mp3").kind == FailureKind::not_audio);
}

TEST_CASE("failures: a header without sound is empty") {
    const Folder folder;
    for (const int format : {wav_16, SF_FORMAT_AIFF | SF_FORMAT_PCM_16, wav_float}) {
        CAPTURE(format);
        write_sound(folder / "a", format, Audio{SampleRate(44100), Frames(0), {{}, {}}});
        CHECK(open_failure(folder / "a").kind == FailureKind::empty);
    }
}

TEST_CASE("failures: formats that are no part of the bargain are refused by name") {
    const Folder folder;
    for (const int format :
         {SF_FORMAT_AU | SF_FORMAT_PCM_16, SF_FORMAT_CAF | SF_FORMAT_PCM_16,
          SF_FORMAT_WAV | SF_FORMAT_IMA_ADPCM, SF_FORMAT_VOC | SF_FORMAT_PCM_16}) {
        CAPTURE(format);
        write_sound(folder / "a", format, lively(44100, 1, 5000));
        CHECK(open_failure(folder / "a").kind == FailureKind::unsupported);
    }
    write_sound(folder / "a.wav", wav_16,
                Audio{SampleRate(44100), Frames(0),
                      std::vector<std::vector<float>>(65, std::vector<float>(100))});
    CHECK(open_failure(folder / "a.wav").kind == FailureKind::unsupported);
}

TEST_CASE("failures: a file that is cut short is called that, wherever it is cut") {
    const Folder folder;
    for (const Form& form : all_forms()) {
        write_sound(folder / "whole", form.format, lively(48000, 2, 96000));
        const std::string bytes = bytes_of(folder / "whole");
        for (const double share : {0.2, 0.5, 0.8, 0.95}) {
            CAPTURE(std::string(form.name));
            CAPTURE(share);
            const auto cut = static_cast<std::size_t>(share * static_cast<double>(bytes.size()));
            put_bytes(folder / "cut", bytes.substr(0, cut));
            CHECK(open_failure(folder / "cut").kind == FailureKind::truncated);
        }
    }
}

TEST_CASE("failures: a WAV or AIFF cut says where it ends") {
    const Folder folder;
    write_sound(folder / "a.wav", wav_16, lively(8000, 1, 80000));
    const std::string bytes = bytes_of(folder / "a.wav");
    put_bytes(folder / "a.wav", bytes.substr(0, 44 + 2 * 20000));  // 2.5 s of 10
    const Failure failure = open_failure(folder / "a.wav");
    CHECK(failure.place.frame == Frames(20000));
    CHECK(failure.sentence.find("0:02.500") != std::string::npos);
}

TEST_CASE("failures: a size that the writer left open is no promise") {
    const Folder folder;
    write_sound(folder / "a.wav", wav_16, lively(8000, 1, 8000));
    std::string bytes = bytes_of(folder / "a.wav");
    for (std::size_t i = 40; i < 44; ++i)
        bytes[i] = '\xFF';
    put_bytes(folder / "a.wav", bytes);
    const auto opened = Recording::open(folder / "a.wav");
    REQUIRE(opened.ok());
    CHECK(opened->info().frames == Frames(8000));
    CHECK(opened->read_all().ok());
}

TEST_CASE("failures: values that are not numbers are found, with their place") {
    const Folder folder;
    for (const float bad :
         {std::numeric_limits<float>::quiet_NaN(), std::numeric_limits<float>::infinity(),
          -std::numeric_limits<float>::infinity(), 1e30F}) {
        Audio audio = lively(44100, 2, 100000);
        audio.channels[1][77777] = bad;
        write_sound(folder / "a.wav", wav_float, audio);
        const auto recording = Recording::open(folder / "a.wav");
        REQUIRE(recording.ok());
        const Failure failure = read_failure(*recording);
        CHECK(failure.kind == FailureKind::bad_samples);
        CHECK(failure.place.frame == Frames(77777));
        CHECK(recording->read({Frames(0), Frames(77777)}).ok());
        CHECK(recording->read({Frames(77778), Frames(100000)}).ok());
    }
    // A loud float file is no damage.
    Audio loud = lively(44100, 1, 1000);
    loud.channels[0][500] = 900.0F;
    write_sound(folder / "a.wav", wav_float, loud);
    CHECK(Recording::open(folder / "a.wav")->read_all().ok());
}

TEST_CASE("failures: gone, replaced, cut or rewritten while open") {
    const Folder folder;
    const fs::path path = folder / "a.wav";
    const std::vector<std::function<void()>> mishaps = {
        [&] { fs::remove(path); },
        [&] {
            write_sound(folder / "b.wav", wav_16, lively(44100, 1, 50000));
            fs::rename(folder / "b.wav", path);
        },
        [&] { fs::resize_file(path, 5000); },
        [&] {
            std::string bytes = bytes_of(path);
            bytes[30000] = static_cast<char>(bytes[30000] + 1);
            put_bytes(path, bytes);
            fs::last_write_time(path, fs::last_write_time(path) + std::chrono::seconds(1));
        },
        [&] { fs::rename(path, folder / "elsewhere.wav"); },
    };
    for (std::size_t i = 0; i < mishaps.size(); ++i) {
        CAPTURE(i);
        write_sound(path, wav_16, lively(44100, 1, 50000));
        const auto recording = Recording::open(path);
        REQUIRE(recording.ok());
        REQUIRE(recording->read({Frames(0), Frames(100)}).ok());
        mishaps[i]();
        CHECK(read_failure(*recording).kind == FailureKind::gone);
    }
}

TEST_CASE("failures: gone in the middle of reading") {
    const Folder folder;
    const fs::path path = folder / "a.wav";
    write_sound(path, wav_16, lively(44100, 1, 300000));
    const auto recording = Recording::open(path);
    REQUIRE(recording.ok());
    Work work;
    work.progress = [&](double share) {
        if (share > 0.4 && fs::exists(path)) fs::resize_file(path, 1000);
    };
    const auto read = recording->read_all(work);
    REQUIRE_FALSE(read.ok());
    CHECK(read.failure().kind == FailureKind::gone);
}

TEST_CASE("failures: a damaged middle of a FLAC is named with its frame") {
    const Folder folder;
    write_sound(folder / "a.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_16, lively(44100, 2, 200000));
    std::string bytes = bytes_of(folder / "a.flac");
    for (std::size_t i = bytes.size() / 2; i < bytes.size() / 2 + 3000; ++i)
        bytes[i] = '\x55';
    put_bytes(folder / "a.flac", bytes);
    const auto recording = Recording::open(folder / "a.flac");
    REQUIRE(recording.ok());
    const Failure failure = read_failure(*recording);
    CHECK(failure.kind == FailureKind::damaged);
    REQUIRE(failure.place.frame.has_value());
    // The damage lies in the middle of the bytes; the sound's density wanders, the place with it.
    CHECK(*failure.place.frame > Frames(50000));
    CHECK(*failure.place.frame < Frames(150000));
    CHECK(recording->read({Frames(0), Frames(40000)}).ok());
}
