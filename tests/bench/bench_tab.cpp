// bench: fingering 200 notes (aim: under 20 ms), and alternatives for eight of them.
#include <benchmark/benchmark.h>

#include "engine/tab/fingering.h"
#include "tests/tab/lines.h"

using namespace bentline;

namespace {

FingeringRequest request_of(benchmark::State& state) {
    testing::Dice dice(static_cast<std::uint64_t>(state.range(0)));
    FingeringRequest request;
    if (state.range(0) == 3) request.neck = eight_string_neck();
    testing::LineOptions options;
    options.rings = state.range(0) == 2;
    request.notes = testing::random_line(dice, 200, options);
    state.SetLabel(options.rings ? "ringing" : std::to_string(request.neck.strings()) + " strings");
    return request;
}

void fingering_200(benchmark::State& state) {
    const FingeringRequest request = request_of(state);
    for (auto _ : state)
        benchmark::DoNotOptimize(find_fingering(request));
}

void alternatives_of_8(benchmark::State& state) {
    const FingeringRequest request = request_of(state);
    for (auto _ : state)
        benchmark::DoNotOptimize(find_alternatives(request, {96, 104}));
}

}  // namespace

BENCHMARK(fingering_200)->DenseRange(0, 3)->Unit(benchmark::kMillisecond);
BENCHMARK(alternatives_of_8)->DenseRange(0, 3)->Unit(benchmark::kMillisecond);
