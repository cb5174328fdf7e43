// recording: what is opened comes back sample by sample, whole and by excerpt.
#include <cmath>
#include <filesystem>
#include <numbers>

#include <doctest/doctest.h>
#include <unistd.h>

#include "engine/recording/recording.h"
#include "engine/recording/wav_file.h"

using namespace bentline;
namespace fs = std::filesystem;

namespace {

struct Folder {
    fs::path path = fs::temp_directory_path() / ("bentline_recording_" + std::to_string(getpid()));
    Folder() { fs::create_directories(path); }
    ~Folder() { fs::remove_all(path); }
};

Audio tone(std::size_t channels, std::size_t frames) {
    Audio a{SampleRate(44100), Frames(0), {}};
    a.channels.resize(channels);
    for (std::size_t c = 0; c < channels; ++c) {
        for (std::size_t i = 0; i < frames; ++i) {
            const double phase =
                2.0 * std::numbers::pi * 440.0 * static_cast<double>(i + 7 * c) / 44100;
            a.channels[c].push_back(static_cast<float>(0.5 * std::sin(phase)));
        }
    }
    return a;
}

}  // namespace

TEST_CASE("recording: a float WAV comes back as it was written, whole and by excerpt") {
    const Folder folder;
    const Audio written = tone(2, 100000);
    REQUIRE(write_wav(folder.path / "a.wav", written, WavSamples::float32).ok());
    const auto recording = Recording::open(folder.path / "a.wav");
    REQUIRE(recording.ok());
    CHECK(recording->info().frames == Frames(100000));
    CHECK(recording->info().format == "WAV, 32 bit float");
    const auto all = recording->read_all();
    REQUIRE(all.ok());
    CHECK(all->channels == written.channels);
    const auto part = recording->read({Frames(70000), Frames(70010)});
    REQUIRE(part.ok());
    CHECK(part->start == Frames(70000));
    CHECK(part->channels[1] == std::vector<float>(written.channels[1].begin() + 70000,
                                                  written.channels[1].begin() + 70010));
}
