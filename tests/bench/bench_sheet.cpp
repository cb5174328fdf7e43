// bench: a sheet of at least four pages (aim: under 300 ms), whole and by its stages.
#include <benchmark/benchmark.h>

#include "engine/export/sheet.h"
#include "tests/export/sheets.h"

using namespace bentline;

namespace {

testing::EngravedDraft four_pages() {
    return testing::chorus({.seed = 9, .bars = 64, .signs = 0.35});
}

void read_fonts(benchmark::State& state) {
    for (auto _ : state)
        benchmark::DoNotOptimize(engraving::load_fonts());
}

void engrave_pages(benchmark::State& state) {
    const testing::EngravedDraft draft = four_pages();
    const engraving::Fonts fonts = engraving::load_fonts().value();
    std::size_t pages = 0;
    for (auto _ : state)
        pages = engraving::engrave(draft.score, draft.tab, {}, fonts).value().pages.size();
    state.SetLabel(std::to_string(pages) + " pages");
}

void whole_sheet(benchmark::State& state) {
    const testing::EngravedDraft draft = four_pages();
    for (auto _ : state) {
        const engraving::Fonts fonts = engraving::load_fonts().value();
        const auto sheet = engraving::engrave(draft.score, draft.tab, {}, fonts).value();
        const auto format = state.range(0) == 0 ? SheetFormat::pdf : SheetFormat::svg;
        benchmark::DoNotOptimize(sheet_bytes(sheet, fonts, format, "bench"));
    }
    state.SetLabel(state.range(0) == 0 ? "PDF" : "SVG");
}

}  // namespace

BENCHMARK(read_fonts)->Unit(benchmark::kMillisecond);
BENCHMARK(engrave_pages)->Unit(benchmark::kMillisecond);
BENCHMARK(whole_sheet)->DenseRange(0, 1)->Unit(benchmark::kMillisecond);
