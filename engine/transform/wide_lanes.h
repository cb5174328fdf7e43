// Functions marked with this are compiled twice, also for processors with 256-bit registers, and
// the right one is taken when the program starts. Sums keep their order and no multiplication melts
// into an addition, so that both give the same bits. Left out where the toolchain does not know it,
// and under sanitizers, whose own start comes after that choice.
#pragma once

#include <cstddef>
#include <cstring>

#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && \
    !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
#define BENTLINE_WIDE_LANES __attribute__((target_clones("avx2", "default")))
#else
#define BENTLINE_WIDE_LANES
#endif

namespace bentline {

// Eight values at once: one wide register, or two narrow ones.
using Lanes = float __attribute__((vector_size(32)));
inline constexpr std::size_t lanes = 8;

// By reference: returned by value, wide registers would have two calling conventions.
inline __attribute__((always_inline)) void load(Lanes& v, const float* from) {
    std::memcpy(&v, from, sizeof v);
}
inline __attribute__((always_inline)) void store(float* to, const Lanes& v) {
    std::memcpy(to, &v, sizeof v);
}

}  // namespace bentline
