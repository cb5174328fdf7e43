// CPU time of the stretcher per second of output beside library engines, and its worst block.
//
// A stereo second of a plucked line over noise, block by block, engines in their real-time mode.
// "cpu" is CPU seconds per second of output; "worst" the longest block's share of its deadline (by
// the thread's CPU clock; the 99.9th percentile guards against interruptions by the system).
#include <algorithm>
#include <array>
#include <cmath>
#include <ctime>
#include <vector>

#include <SoundTouch.h>
#include <benchmark/benchmark.h>
#include <rubberband/RubberBandStretcher.h>

#include "engine/listening/stretcher.h"
#include "tests/support/dice.h"

namespace {

using namespace bentline;

constexpr int rate = 44100;
constexpr std::size_t seconds = 12;

const Audio& music() {
    static const Audio audio = [] {
        Audio a{SampleRate(rate), Frames(0), {}};
        a.channels.assign(2, std::vector<float>(rate * seconds));
        testing::Dice dice(1);
        for (int n = 0; n < 48; ++n) {
            const double hz = 110.0 * std::exp2(dice.whole(0, 36) / 12.0);
            const auto from = static_cast<std::size_t>(n) * rate / 4;
            for (std::size_t i = 0; i < rate / 2 && from + i < rate * seconds; ++i) {
                const double t = static_cast<double>(i) / rate;
                double x = 0.0;
                for (int k = 1; k <= 12; ++k)
                    x += 0.1 / k * std::exp(-t * (3 + k)) * std::sin(6.2831853 * hz * k * t);
                a.channels[0][from + i] += static_cast<float>(x);
                a.channels[1][from + i] += static_cast<float>(0.7 * x);
            }
        }
        for (auto& c : a.channels) {
            for (float& v : c)
                v += static_cast<float>(0.003 * dice.normal());
        }
        return a;
    }();
    return audio;
}

class Round final : public FrameSource {
  public:
    void read(Frames from, std::size_t count, std::span<float* const> out) override {
        const Audio& a = music();
        const std::int64_t n = a.length().value();
        for (std::size_t i = 0; i < count; ++i) {
            const auto at = static_cast<std::size_t>(
                ((from.value() + static_cast<std::int64_t>(i)) % n + n) % n);
            for (std::size_t c = 0; c < out.size(); ++c)
                out[c][i] = a.channels[c][at];
        }
    }
};

double thread_seconds() {
    timespec t{};
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
    return static_cast<double>(t.tv_sec) + 1e-9 * static_cast<double>(t.tv_nsec);
}

// Calls block() for `seconds` of output per iteration and reports.
template <class Block>
void measure(benchmark::State& state, std::size_t frames, Block block) {
    music();  // made before the clock runs
    std::vector<double> times;
    double cpu = 0.0;
    double heard = 0.0;
    for (auto _ : state) {
        for (std::size_t done = 0; done < rate * seconds; done += frames) {
            const double from = thread_seconds();
            block();
            times.push_back(thread_seconds() - from);
            cpu += times.back();
            heard += static_cast<double>(frames) / rate;
        }
    }
    std::sort(times.begin(), times.end());
    const double deadline = static_cast<double>(frames) / rate;
    state.counters["cpu"] = cpu / heard;
    state.counters["worst"] = times.back() / deadline;
    state.counters["worst999"] = times[times.size() * 999 / 1000] / deadline;
}

void own(benchmark::State& state) {
    const double speed = static_cast<double>(state.range(0)) / 100.0;
    const auto frames = static_cast<std::size_t>(state.range(1));
    Stretcher s(SampleRate(rate), 2);
    s.set_speed(speed);
    s.start(Frames(0));
    Round line;
    std::vector<float> l(frames);
    std::vector<float> r(frames);
    const std::array<float*, 2> out = {l.data(), r.data()};
    measure(state, frames, [&] { s.render(line, out, frames); });
}

void rubberband(benchmark::State& state, int engine) {
    using RubberBand::RubberBandStretcher;
    const double speed = static_cast<double>(state.range(0)) / 100.0;
    const auto frames = static_cast<std::size_t>(state.range(1));
    RubberBandStretcher s(rate, 2,
                          RubberBandStretcher::OptionProcessRealTime |
                              RubberBandStretcher::OptionThreadingNever | engine,
                          1.0 / speed, 1.0);
    Round line;
    std::int64_t at = 0;
    std::vector<float> l(65536);
    std::vector<float> r(65536);
    const std::array<float*, 2> buffers = {l.data(), r.data()};
    measure(state, frames, [&] {
        while (s.available() < static_cast<int>(frames)) {
            const std::size_t n = std::max<std::size_t>(1, s.getSamplesRequired());
            line.read(Frames(at), n, buffers);
            s.process(buffers.data(), n, false);
            at += static_cast<std::int64_t>(n);
        }
        s.retrieve(buffers.data(), frames);
    });
}
void rubberband_r2(benchmark::State& state) {
    rubberband(state, RubberBand::RubberBandStretcher::OptionEngineFaster);
}
void rubberband_r3(benchmark::State& state) {
    rubberband(state, RubberBand::RubberBandStretcher::OptionEngineFiner);
}

void soundtouch_engine(benchmark::State& state) {
    const double speed = static_cast<double>(state.range(0)) / 100.0;
    const auto frames = static_cast<std::size_t>(state.range(1));
    soundtouch::SoundTouch s;
    s.setSampleRate(rate);
    s.setChannels(2);
    s.setTempo(speed);
    Round line;
    std::int64_t at = 0;
    std::array<float, 256> l{};
    std::array<float, 256> r{};
    std::array<float, 512> both{};
    const std::array<float*, 2> buffers = {l.data(), r.data()};
    std::vector<float> out(frames * 2);
    measure(state, frames, [&] {
        while (s.numSamples() < frames) {
            line.read(Frames(at), 256, buffers);
            for (std::size_t i = 0; i < 256; ++i) {
                both[2 * i] = l[i];
                both[2 * i + 1] = r[i];
            }
            s.putSamples(both.data(), 256);
            at += 256;
        }
        s.receiveSamples(out.data(), static_cast<unsigned>(frames));
    });
}

void cases(benchmark::internal::Benchmark* b) {
    for (const int frames : {256, 1024}) {
        for (const int speed : {25, 50, 75, 100})
            b->Args({speed, frames});
    }
    b->Iterations(1)->Unit(benchmark::kMillisecond);
}

}  // namespace

BENCHMARK(own)->Apply(cases);
BENCHMARK(rubberband_r2)->Apply(cases);
BENCHMARK(rubberband_r3)->Apply(cases);
BENCHMARK(soundtouch_engine)->Apply(cases);
