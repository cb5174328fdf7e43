// bench: eight real Fourier transforms, as each look at a recording takes them: side by side in our
// own lanes, one after another by KissFFT, and by FFTW, a reference that is linked here only.
// "transforms" counts them a second of CPU time.
#include <algorithm>
#include <complex>
#include <memory>
#include <type_traits>
#include <vector>

#include <benchmark/benchmark.h>
#include <fftw3.h>

#include "engine/transform/eight_ffts.h"
#include "engine/transform/fft.h"

using namespace bentline;

namespace {

// Evenly spread values without a period that a transform could profit from.
std::vector<float> samples(std::size_t n) {
    std::vector<float> out(n);
    for (std::size_t i = 0; i < n; ++i)
        out[i] = static_cast<float>((i * 7919) % 1024) / 512.0F - 1.0F;
    return out;
}

void count(benchmark::State& state) {
    state.counters["transforms"] =
        benchmark::Counter(8, benchmark::Counter::kIsIterationInvariantRate);
}

void own_lanes(benchmark::State& state) {
    const auto size = static_cast<std::size_t>(state.range(0));
    EightFfts fft(size);
    const std::vector<float> in = samples(lanes * size);
    std::vector<float> real(lanes * fft.bins());
    std::vector<float> imaginary(lanes * fft.bins());
    for (auto _ : state) {
        fft.forward(in, real, imaginary);
        benchmark::DoNotOptimize(real.data());
    }
    count(state);
}

void kissfft(benchmark::State& state) {
    const auto size = static_cast<std::size_t>(state.range(0));
    RealFft fft(size);
    const std::vector<float> in = samples(size);
    std::vector<std::complex<float>> out(fft.bins());
    for (auto _ : state) {
        for (std::size_t k = 0; k < lanes; ++k)
            fft.forward(in, out);
        benchmark::DoNotOptimize(out.data());
    }
    count(state);
}

struct Destroy {
    void operator()(fftwf_plan plan) const { fftwf_destroy_plan(plan); }
    void operator()(void* block) const { fftwf_free(block); }
};

// One plan for eight transforms. stride, step: in numbers, between the samples of one transform and
// between transforms.
void fftw(benchmark::State& state, bool side_by_side) {
    const int size = static_cast<int>(state.range(0));
    const int bins = size / 2 + 1;
    const int many = static_cast<int>(lanes);
    const std::unique_ptr<float, Destroy> in(fftwf_alloc_real(lanes * static_cast<size_t>(size)));
    const std::unique_ptr<fftwf_complex, Destroy> out(
        fftwf_alloc_complex(lanes * static_cast<size_t>(bins)));
    const int stride = side_by_side ? many : 1;
    const std::unique_ptr<std::remove_pointer_t<fftwf_plan>, Destroy> plan(
        fftwf_plan_many_dft_r2c(1, &size, many, in.get(), nullptr, stride, side_by_side ? 1 : size,
                                out.get(), nullptr, stride, side_by_side ? 1 : bins, FFTW_MEASURE));
    const std::vector<float> from = samples(lanes * static_cast<size_t>(size));
    std::copy(from.begin(), from.end(), in.get());
    for (auto _ : state) {
        fftwf_execute(plan.get());
        benchmark::DoNotOptimize(out.get());
    }
    count(state);
}

void fftw_side_by_side(benchmark::State& state) {
    fftw(state, true);
}

void fftw_one_after_another(benchmark::State& state) {
    fftw(state, false);
}

// The sizes at 44.1 kHz: attacks, partials, the network's map; and one that is no power of two.
void sizes(benchmark::internal::Benchmark* bench) {
    bench->Arg(1024)->Arg(2048)->Arg(4096)->Arg(2250)->MinTime(0.2);
}

BENCHMARK(own_lanes)->Apply(sizes);
BENCHMARK(kissfft)->Apply(sizes);
BENCHMARK(fftw_side_by_side)->Apply(sizes);
BENCHMARK(fftw_one_after_another)->Apply(sizes);

}  // namespace
