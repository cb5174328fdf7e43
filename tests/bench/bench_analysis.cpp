// bench: the whole analysis of the demo recording, a minute of 44.1 kHz stereo, on one core, and
// its stages; beside it a general library's pitch (YIN by Fourier transform) and onsets, which say
// less. "x_real_time" is seconds of recording for each second of CPU time; the aim is 40 and more.
#include <cstdio>
#include <cstdlib>
#include <string>
#include <vector>

#include <aubio/aubio.h>
#include <benchmark/benchmark.h>

#include "engine/notes/find_notes.h"
#include "engine/notes/pencil.h"
#include "engine/pitch/tracker.h"
#include "engine/recording/recording.h"

using namespace bentline;

namespace {

const Audio& music() {
    static const Audio read = [] {
        const std::string path =
            std::string(BENTLINE_SOURCE_DIR) + "/demo_audio/last_tram_to_oddervik.flac";
        const auto recording = Recording::open(path);
        auto audio = recording ? recording->read_all() : Result<Audio>(recording.failure());
        if (!audio) {
            std::fprintf(stderr, "%s\n", audio.failure().sentence.c_str());
            std::exit(1);
        }
        return std::move(*audio);
    }();
    return read;
}

void count_real_time(benchmark::State& state) {
    state.counters["x_real_time"] = benchmark::Counter(
        music().duration().value(), benchmark::Counter::kIsIterationInvariantRate);
}

void whole_analysis(benchmark::State& state) {
    for (auto _ : state)
        benchmark::DoNotOptimize(pencil_notes(music(), Focus{}));
    count_real_time(state);
}

void pitch_line(benchmark::State& state) {
    for (auto _ : state)
        benchmark::DoNotOptimize(track_pitch(music(), Focus{}));
    count_real_time(state);
}

void pitch_line_without_network(benchmark::State& state) {
    TrackerSettings settings;
    settings.network = false;
    for (auto _ : state)
        benchmark::DoNotOptimize(track_pitch(music(), Focus{}, settings));
    count_real_time(state);
}

void notes_on_the_line(benchmark::State& state) {
    const auto curve = track_pitch(music(), Focus{});
    for (auto _ : state)
        benchmark::DoNotOptimize(find_notes(music(), *curve, Focus{}));
    count_real_time(state);
}

std::vector<float> mono() {
    std::vector<float> mix = music().channels[0];
    for (std::size_t c = 1; c < music().channels.size(); ++c) {
        for (std::size_t i = 0; i < mix.size(); ++i)
            mix[i] += music().channels[c][i];
    }
    return mix;
}

// The same distance of points as ours, 5 ms.
void aubio_pitch_and_onsets(benchmark::State& state) {
    const std::vector<float> mix = mono();
    const auto rate = static_cast<uint_t>(music().rate.value());
    const uint_t hop = rate / 200;
    for (auto _ : state) {
        aubio_pitch_t* pitch = new_aubio_pitch("yinfft", 2048, hop, rate);
        aubio_onset_t* onset = new_aubio_onset("default", 1024, hop, rate);
        fvec_t* in = new_fvec(hop);
        fvec_t* out = new_fvec(1);
        for (std::size_t from = 0; from + hop <= mix.size(); from += hop) {
            for (uint_t i = 0; i < hop; ++i)
                fvec_set_sample(in, mix[from + i], i);
            aubio_pitch_do(pitch, in, out);
            benchmark::DoNotOptimize(fvec_get_sample(out, 0));
            aubio_onset_do(onset, in, out);
            benchmark::DoNotOptimize(fvec_get_sample(out, 0));
        }
        del_fvec(out);
        del_fvec(in);
        del_aubio_onset(onset);
        del_aubio_pitch(pitch);
    }
    count_real_time(state);
}

}  // namespace

BENCHMARK(whole_analysis)->Unit(benchmark::kMillisecond);
BENCHMARK(pitch_line)->Unit(benchmark::kMillisecond);
BENCHMARK(pitch_line_without_network)->Unit(benchmark::kMillisecond);
BENCHMARK(notes_on_the_line)->Unit(benchmark::kMillisecond);
BENCHMARK(aubio_pitch_and_onsets)->Unit(benchmark::kMillisecond);
