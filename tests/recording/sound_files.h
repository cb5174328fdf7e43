// Sound files for the tests: written by libsndfile itself, not by the code under test.
#pragma once

#include <cmath>
#include <cstdint>
#include <filesystem>
#include <fstream>
#include <numbers>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

#include <sndfile.h>
#include <unistd.h>

#include "engine/recording/audio.h"
#include "tests/support/dice.h"
#include "tests/support/folder.h"

namespace bentline::testing {

struct Form {
    const char* name;
    int format;
    bool exact;  // what was written comes back (to the step of its bits)
};
inline const std::vector<Form>& all_forms() {
    static const std::vector<Form> forms = {
        {"wav 16", SF_FORMAT_WAV | SF_FORMAT_PCM_16, true},
        {"wav 24", SF_FORMAT_WAV | SF_FORMAT_PCM_24, true},
        {"wav float", SF_FORMAT_WAV | SF_FORMAT_FLOAT, true},
        {"wav 8", SF_FORMAT_WAV | SF_FORMAT_PCM_U8, false},
        {"rf64", SF_FORMAT_RF64 | SF_FORMAT_PCM_16, true},
        {"aiff", SF_FORMAT_AIFF | SF_FORMAT_PCM_16, true},
        {"flac 16", SF_FORMAT_FLAC | SF_FORMAT_PCM_16, true},
        {"flac 24", SF_FORMAT_FLAC | SF_FORMAT_PCM_24, true},
        {"vorbis", SF_FORMAT_OGG | SF_FORMAT_VORBIS, false},
        {"opus", SF_FORMAT_OGG | SF_FORMAT_OPUS, false},
        {"mp3", SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III, false},
    };
    return forms;
}

// A line of notes over noise, the channels unlike each other, never beyond +-0.8; with pauses and
// changes of colour, so that a codec's frames differ in size.
inline Audio lively(int rate, std::size_t channels, std::size_t frames, std::uint64_t seed = 1) {
    Audio a{SampleRate(rate), Frames(0), {}};
    a.channels.assign(channels, std::vector<float>(frames));
    for (std::size_t c = 0; c < channels; ++c) {
        Dice dice(seed * 100 + c);
        double phase = 0.0;
        double frequency = 220.0;
        double noise = 0.0;
        double level = 0.4;
        for (std::size_t i = 0; i < frames; ++i) {
            if (i % static_cast<std::size_t>(rate / 7) == 0) {
                frequency = 110.0 * std::exp2(dice.whole(0, 36) / 12.0);
                noise = dice.chance(0.3) ? 0.2 : 0.01;
                level = dice.chance(0.2) ? 0.0 : dice.between(0.1, 0.5);
            }
            phase += 2.0 * std::numbers::pi * frequency / rate;
            const double tone = level * (std::sin(phase) + 0.3 * std::sin(3 * phase)) / 1.3;
            a.channels[c][i] = static_cast<float>(tone + noise * dice.between(-1.0, 1.0));
        }
    }
    return a;
}

struct WriteOptions {
    double compression = -1.0;  // 0 to 1, libsndfile's measure for lossy codings; -1: its default
    int bitrate_mode = -1;      // SF_BITRATE_MODE_…
    std::vector<int> channel_map;  // SF_CHANNEL_MAP_…
};

inline void write_sound(const std::filesystem::path& path, int format, const Audio& audio,
                        const WriteOptions& options = {}) {
    SF_INFO info{};
    info.samplerate = audio.rate.value();
    info.channels = static_cast<int>(audio.channels.size());
    info.format = format;
    SNDFILE* out = sf_open(path.c_str(), SFM_WRITE, &info);
    if (out == nullptr)
        throw std::runtime_error(std::string("cannot make: ") + sf_strerror(nullptr));
    if (options.bitrate_mode >= 0) {
        int mode = options.bitrate_mode;
        sf_command(out, SFC_SET_BITRATE_MODE, &mode, sizeof mode);
    }
    if (options.compression >= 0.0) {
        double level = options.compression;
        sf_command(out, SFC_SET_COMPRESSION_LEVEL, &level, sizeof level);
    }
    if (!options.channel_map.empty()) {
        std::vector<int> map = options.channel_map;
        sf_command(out, SFC_SET_CHANNEL_MAP_INFO, map.data(),
                   static_cast<int>(map.size() * sizeof(int)));
    }
    const auto frames = static_cast<std::size_t>(audio.length().value());
    std::vector<float> interleaved(frames * audio.channels.size());
    for (std::size_t c = 0; c < audio.channels.size(); ++c) {
        for (std::size_t i = 0; i < frames; ++i) {
            interleaved[i * audio.channels.size() + c] = audio.channels[c][i];
        }
    }
    const auto written = sf_writef_float(out, interleaved.data(), static_cast<sf_count_t>(frames));
    sf_close(out);
    if (written != static_cast<sf_count_t>(frames)) throw std::runtime_error("cannot write it all");
}

inline std::string bytes_of(const std::filesystem::path& path) {
    std::ifstream in(path, std::ios::binary);
    std::stringstream all;
    all << in.rdbuf();
    return all.str();
}
inline void put_bytes(const std::filesystem::path& path, const std::string& bytes) {
    std::ofstream out(path, std::ios::binary);
    out.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
}

// Largest difference between a and the frames of b from `from`.
inline double largest_difference(const std::vector<float>& a, const std::vector<float>& b,
                                 std::size_t from = 0) {
    double worst = 0.0;
    for (std::size_t i = 0; i < a.size(); ++i) {
        worst = std::max(worst, std::fabs(static_cast<double>(a[i]) - b.at(from + i)));
    }
    return worst;
}

}  // namespace bentline::testing
