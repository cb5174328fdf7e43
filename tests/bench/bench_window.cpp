// bench: the cost of building a frame of the window, without drawing it into pixels: 3,000 notes
// and more than ten minutes of pitch line, at the zoom of a bar's work and with everything in view.
// Aims: 4 ms of CPU at the median, 8 ms at the 99th percentile.
#include <algorithm>
#include <ctime>
#include <vector>

#include <benchmark/benchmark.h>

#include "tests/window/headless.h"
#include "tests/window/made_draft.h"
#include "ui/window/chooser.h"
#include "ui/window/desk.h"

using namespace bentline;
using namespace bentline::window;

namespace {

double cpu_ms() {
    timespec t{};
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
    return 1e3 * static_cast<double>(t.tv_sec) + 1e-6 * static_cast<double>(t.tv_nsec);
}

// 750 bars of four notes: 3,000 notes and 25 minutes of line, more than the aim asks for.
State evening_of_work() {
    State s = made_state(750);
    s.heard.info->frames = Frames(static_cast<std::int64_t>(44100) * 1510);
    s.play.loop = SecondsRange{Seconds(20), Seconds(28)};
    s.pick = s.draft.notes[40].id;
    return s;
}

void frames(benchmark::State& run, SecondsRange look) {
    Headless h;
    State s = evening_of_work();
    s.look = look;
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
    frames(run, {Seconds(20), Seconds(28)});
}
void everything(benchmark::State& run) {
    frames(run, {Seconds(0), Seconds(1505)});
}

// From asking for a recording to when it can be heard; following the soloist goes on meanwhile.
// Aim: 400 ms.
void opening(benchmark::State& run) {
    for (auto _ : run) {
        Desk desk({.sound = false, .remember = {}, .journal = false});
        desk.apply(intents::Open{demo_recording().string()});
        while (!desk.state().heard.overview)
            desk.tick();
        run.PauseTiming();
        desk.apply(intents::StopWork{});
        desk.wait_for_work();
        run.ResumeTiming();
    }
}

BENCHMARK(opening)->Iterations(5)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK(four_bars)->Iterations(600)->Unit(benchmark::kMillisecond);
BENCHMARK(everything)->Iterations(600)->Unit(benchmark::kMillisecond);

}  // namespace
