// bench: from a draft of 200 notes to a written score. The aim is 50 ms.
#include <benchmark/benchmark.h>

#include "engine/score/write_score.h"
#include "tests/score/performance.h"

using namespace bentline;

namespace {

Draft draft_of_200_notes() {
    testing::PerformanceSettings settings;
    settings.bars = 64;
    testing::Performance p = testing::perform(settings);
    p.played.resize(200);
    Draft draft;
    draft.bars = p.bars;
    return pencil(draft, p.played).value();
}

void write(benchmark::State& state) {
    const Draft draft = draft_of_200_notes();
    for (auto _ : state) {
        benchmark::DoNotOptimize(write_score(draft, WhichNotes::inked_and_pencilled));
    }
}
BENCHMARK(write)->Unit(benchmark::kMillisecond);

}  // namespace
