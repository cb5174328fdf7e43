// bench: the cost of building a frame of the window, without drawing it into pixels: 3,000 notes
// and more than ten minutes of pitch line and spectrum, the manuscript shown, at the zoom of four
// bars' work and with everything in view. Aims: 4 ms of CPU at the median, 8 ms at the 99th
// percentile. And how long it takes from opening a recording until it sounds: aim 400 ms.
#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <string>
#include <thread>
#include <vector>

#include <benchmark/benchmark.h>

#include "engine/listening/player.h"
#include "tests/recording/sound_files.h"
#include "tests/window/headless.h"
#include "tests/window/made_draft.h"
#include "ui/window/chooser.h"
#include "ui/window/desk.h"

using namespace bentline;
using namespace bentline::window;
namespace fs = std::filesystem;

namespace {

double cpu_ms() {
    timespec t{};
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
    return 1e3 * static_cast<double>(t.tv_sec) + 1e-6 * static_cast<double>(t.tv_nsec);
}

constexpr int long_bars = 750;  // of four notes: 3,000 notes and 25 minutes of line

// A spectrum with something in every row and column, at every strength.
std::shared_ptr<const Spectrum> full_spectrum(Seconds length) {
    Spectrum s;
    const auto columns = static_cast<std::size_t>(length / s.hop);
    s.levels.resize(columns * spectrum_rows);
    for (std::size_t i = 0; i < s.levels.size(); ++i)
        s.levels[i] = static_cast<std::uint8_t>((i * 2654435761U) >> 24);
    return std::make_shared<const Spectrum>(with_blocks(std::move(s)));
}

// The state as the desk makes it of a saved draft, so that score, fingering and manuscript are the
// real ones; what was heard is made.
State evening_of_work(SecondsRange look, bool spectrum) {
    const fs::path file = fs::temp_directory_path() / "bentline_bench_window.bentline";
    State made = made_state(long_bars);
    if (!save_draft(made.draft, file)) return made;
    Desk desk({.sound = Sound::off, .remember = {}, .journal = false});
    desk.set_bench_width(bench_width(1280, 720, 1));
    desk.apply(intents::Open{file.string()});
    desk.wait_for_work();
    desk.apply(intents::ShowSpan{look.from, look.to});
    desk.wait_for_work();
    fs::remove(file);
    State s = desk.state();
    s.heard = made.heard;
    s.heard.info->frames = Frames(static_cast<std::int64_t>(44100) * 1510);
    s.heard.spectrum = full_spectrum(s.heard.info->duration());
    s.spectrum_shown = spectrum;
    s.play.loop = SecondsRange{Seconds(20), Seconds(28)};
    s.pick = s.draft.notes[40].id;
    s.look = look;
    return s;
}

void frames(benchmark::State& run, SecondsRange look, bool spectrum) {
    Headless h;
    State s = evening_of_work(look, spectrum);
    if (look.to - look.from < Seconds(60) && !s.manuscript)
        return run.SkipWithError("there is no manuscript to draw");
    h.frame(s);
    std::vector<double> costs;
    for (auto _ : run) {
        s.play.at += Seconds(1.0 / 60.0);
        const double begin = cpu_ms();
        benchmark::DoNotOptimize(h.frame(s));
        costs.push_back(cpu_ms() - begin);
    }
    std::sort(costs.begin(), costs.end());
    run.counters["median_ms"] = costs[costs.size() / 2];
    run.counters["p99_ms"] = costs[costs.size() * 99 / 100];
}

void four_bars(benchmark::State& run) {
    frames(run, {Seconds(20), Seconds(28)}, false);
}
void four_bars_spectrum(benchmark::State& run) {
    frames(run, {Seconds(20), Seconds(28)}, true);
}
void everything(benchmark::State& run) {
    frames(run, {Seconds(0), Seconds(1505)}, false);
}
void everything_spectrum(benchmark::State& run) {
    frames(run, {Seconds(0), Seconds(1505)}, true);
}

// Ten minutes as FLAC, which takes longer to read than WAV: the demo over and over.
fs::path ten_minutes(const fs::path& folder) {
    const Result<Recording> demo = Recording::open(demo_recording());
    if (!demo) return {};
    Result<Audio> sound = demo->read_all();
    if (!sound) return {};
    for (auto& channel : sound->channels) {
        const std::vector<float> once = channel;
        while (channel.size() < std::size_t{600} * 44100)
            channel.insert(channel.end(), once.begin(), once.end());
    }
    fs::path file = folder / "ten_minutes.flac";
    testing::write_sound(file, SF_FORMAT_FLAC | SF_FORMAT_PCM_16, *sound);
    return file;
}

// From asking for a recording of ten minutes until the device has been given sound: the whole way,
// with the key for playing pressed as soon as it does something; the rest is read and the soloist
// followed meanwhile. The device is ALSA's file device, which takes what it is given. A tick each
// 2 ms, where a window has a frame each 16. CPU: of all threads.
void opening(benchmark::State& run) {
    const fs::path folder = fs::temp_directory_path() / "bentline_bench_opening";
    fs::create_directories(folder);
    const fs::path recording = ten_minutes(folder);
    if (recording.empty()) return run.SkipWithError("there is no demo to make a recording of");
    std::ofstream(folder / "asound.conf")
        << "</usr/share/alsa/alsa.conf>\n"
        << "pcm.bentline_bench { type plug slave { format S16_LE rate 44100 channels 2 pcm {\n"
        << "  type file format raw file \"" << (folder / "heard.raw").string()
        << "\" slave.pcm null } } }\n";
    setenv("ALSA_CONFIG_PATH", (folder / "asound.conf").c_str(), 1);
    setenv("JACK_NO_START_SERVER", "1", 1);
    std::string device;
    {
        Player player;
        for (const SoundDevice& one : player.devices()) {
            if (one.name.find("bentline_bench") != std::string::npos) device = one.name;
        }
    }
    if (device.empty()) return run.SkipWithError("PortAudio lists no ALSA device here");
    for (auto _ : run) {
        Desk desk({.sound = Sound::device, .remember = {}, .journal = false});
        desk.apply(intents::ChooseDevice{device});
        desk.apply(intents::Open{recording.string()});
        const auto next = [&desk] {
            std::this_thread::sleep_for(std::chrono::milliseconds(2));
            desk.tick();
        };
        while (!desk.state().play.playing) {
            next();
            if (desk.state().open) desk.apply(intents::PlayStop{});
        }
        const Seconds begin = desk.state().play.at;
        while (desk.state().play.at <= begin && desk.state().play.playing)
            next();
        run.PauseTiming();
        if (!desk.state().work.empty()) run.counters["before_analysis_ended"] = 1;
        desk.apply(intents::StopWork{});
        desk.wait_for_work();
        run.ResumeTiming();
    }
    fs::remove_all(folder);
}

BENCHMARK(opening)
    ->Iterations(9)
    ->Unit(benchmark::kMillisecond)
    ->UseRealTime()
    ->MeasureProcessCPUTime();
BENCHMARK(four_bars)->Iterations(600)->Unit(benchmark::kMillisecond);
BENCHMARK(four_bars_spectrum)->Iterations(600)->Unit(benchmark::kMillisecond);
BENCHMARK(everything)->Iterations(600)->Unit(benchmark::kMillisecond);
BENCHMARK(everything_spectrum)->Iterations(600)->Unit(benchmark::kMillisecond);

}  // namespace
