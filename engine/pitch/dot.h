// A sum of products, for filters and layers.
#pragma once

#include <cstddef>

namespace bentline {

// Eight running sums, so that the compiler may use vector registers; always in the same order.
// [any]
inline float dot(const float* a, const float* b, std::size_t n) {
    float lane[8] = {};
    std::size_t i = 0;
    for (; i + 8 <= n; i += 8) {
        for (std::size_t k = 0; k < 8; ++k)
            lane[k] += a[i + k] * b[i + k];
    }
    float sum = 0.0F;
    for (; i < n; ++i)
        sum += a[i] * b[i];
    for (const float v : lane)
        sum += v;
    return sum;
}

}  // namespace bentline
