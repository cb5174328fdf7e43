// bench: decoding, the overview and the loudness of three minutes of stereo, by format.
// "x_real_time" is seconds of recording for each second of CPU time.
#include <array>
#include <cstdlib>
#include <filesystem>
#include <string>
#include <vector>

#include <benchmark/benchmark.h>
#include <sndfile.h>
#include <unistd.h>

#include "engine/recording/fingerprint.h"
#include "engine/recording/loudness.h"
#include "engine/recording/overview.h"
#include "engine/recording/recording.h"
#include "tests/support/dice.h"
#include "tests/support/tones.h"

using namespace bentline;
namespace fs = std::filesystem;

namespace {

constexpr int rate = 44100;
constexpr int length_s = 180;

struct Kind {
    const char* name;
    int format;
};
constexpr std::array<Kind, 5> kinds = {{
    {"wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16},
    {"flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_16},
    {"vorbis", SF_FORMAT_OGG | SF_FORMAT_VORBIS},
    {"opus", SF_FORMAT_OGG | SF_FORMAT_OPUS},
    {"mp3", SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III},
}};

// Two sines with a little noise, written once a program run.
class Files {
  public:
    Files() : folder_(fs::temp_directory_path() / ("bentline_bench_" + std::to_string(getpid()))) {
        fs::create_directories(folder_);
    }
    ~Files() { fs::remove_all(folder_); }

    fs::path get(const Kind& kind) {
        const fs::path path = folder_ / kind.name;
        if (fs::exists(path)) return path;
        SF_INFO info{};
        info.samplerate = kind.name == std::string("opus") ? 48000 : rate;
        info.channels = 2;
        info.format = kind.format;
        SNDFILE* out = sf_open(path.c_str(), SFM_WRITE, &info);
        if (out == nullptr) std::abort();
        testing::Dice dice(1);
        std::vector<float> second(static_cast<std::size_t>(info.samplerate) * 2);
        for (int s = 0; s < length_s; ++s) {
            for (std::size_t i = 0; i < second.size(); ++i) {
                const double t = static_cast<double>(i / 2) / info.samplerate;
                second[i] = static_cast<float>(
                    0.4 * std::sin(6.283185307 * (i % 2 == 0 ? 440.0 : 330.0) * t) +
                    0.02 * dice.normal());
            }
            sf_write_float(out, second.data(), static_cast<sf_count_t>(second.size()));
        }
        sf_close(out);
        return path;
    }

  private:
    fs::path folder_;
};

Files& files() {
    static Files made;
    return made;
}

Recording open(benchmark::State& state) {
    const Kind& kind = kinds.at(static_cast<std::size_t>(state.range(0)));
    state.SetLabel(kind.name);
    auto opened = Recording::open(files().get(kind));
    if (!opened) std::abort();
    return std::move(*opened);
}

void count_real_time(benchmark::State& state) {
    state.counters["x_real_time"] =
        benchmark::Counter(length_s, benchmark::Counter::kIsIterationInvariantRate);
}

void decode(benchmark::State& state) {
    const Recording recording = open(state);
    for (auto _ : state)
        benchmark::DoNotOptimize(recording.read_all());
    count_real_time(state);
}

void overview(benchmark::State& state) {
    const Recording recording = open(state);
    for (auto _ : state)
        benchmark::DoNotOptimize(make_overview(recording));
    count_real_time(state);
}

void loudness(benchmark::State& state) {
    const Recording recording = open(state);
    for (auto _ : state)
        benchmark::DoNotOptimize(measure_loudness(recording));
    count_real_time(state);
}

void mark(benchmark::State& state) {
    const Recording recording = open(state);
    for (auto _ : state)
        benchmark::DoNotOptimize(fingerprint(recording));
}

// Ten seconds from the middle of the file.
void excerpt(benchmark::State& state) {
    const Recording recording = open(state);
    const Frames middle(recording.info().frames.value() / 2);
    const Frames ten_s(10 * recording.info().rate.value());
    for (auto _ : state) {
        benchmark::DoNotOptimize(recording.read({middle, middle + ten_s}));
        // Somewhere else in between, so that each turn has to seek.
        benchmark::DoNotOptimize(recording.read({Frames(0), Frames(1)}));
    }
}

}  // namespace

BENCHMARK(decode)->DenseRange(0, 4)->Unit(benchmark::kMillisecond);
BENCHMARK(excerpt)->DenseRange(0, 4)->Unit(benchmark::kMillisecond);
BENCHMARK(overview)->DenseRange(0, 4)->Unit(benchmark::kMillisecond);
BENCHMARK(loudness)->Arg(0)->Unit(benchmark::kMillisecond);
BENCHMARK(mark)->Arg(0)->Unit(benchmark::kMillisecond);
