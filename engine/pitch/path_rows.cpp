// Rows of probabilities, several bins at a time; the order of every sum is that of the contract.
#include "engine/pitch/path_rows.h"

#include <algorithm>
#include <cstring>

#include "engine/transform/wide_lanes.h"

namespace bentline {

BENTLINE_WIDE_LANES
std::size_t first_largest(const float* p, std::size_t n) {
    float most = p[0];
    std::size_t b = 0;
    if (n >= lanes) {
        Lanes lane;
        load(lane, p);
        for (b = lanes; b + lanes <= n; b += lanes) {
            Lanes v;
            load(v, p + b);
            lane = v > lane ? v : lane;
        }
        for (std::size_t k = 0; k < lanes; ++k)
            most = std::max(most, lane[k]);
    }
    for (; b < n; ++b)
        most = std::max(most, p[b]);
    std::size_t at = 0;
    while (at + 1 < n && p[at] != most)
        ++at;
    return at;
}

// Four registers side by side, for one alone would wait for its own last addition.
BENTLINE_WIDE_LANES
void glide_sum(const float* __restrict from, std::size_t n, const float* glide, std::size_t reach,
               float* __restrict out) {
    for (std::size_t b = 0; b < n; b += 4 * lanes) {
        Lanes sum[4];
        for (std::size_t i = 0; i < 4; ++i) {
            load(sum[i], from + b + lanes * i);
            sum[i] *= glide[0];
        }
        for (std::size_t k = 1; k < reach; ++k) {
            const float g = glide[k];
            for (std::size_t i = 0; i < 4; ++i) {
                const float* at = from + b + lanes * i;
                Lanes v;
                load(v, at + k);
                sum[i] += v * g;
                load(v, at - k);
                sum[i] += v * g;
            }
        }
        for (std::size_t i = 0; i < 4; ++i)
            store(out + b + lanes * i, sum[i]);
    }
}

namespace {
using Places = std::int32_t __attribute__((vector_size(32)));
}  // namespace

BENTLINE_WIDE_LANES
void glide_best(const float* __restrict best, std::size_t n, const float* glide, std::size_t reach,
                float* __restrict next, std::int32_t* __restrict from) {
    const Places steps{0, 1, 2, 3, 4, 5, 6, 7};
    for (std::size_t b = 0; b < n; b += 2 * lanes) {
        Lanes most[2];
        Places came[2];
        for (std::size_t i = 0; i < 2; ++i) {
            load(most[i], next + b + lanes * i);
            std::memcpy(&came[i], from + b + lanes * i, sizeof came[i]);
        }
        for (std::size_t k = 0; k < reach; ++k) {
            const float g = glide[k];
            const auto step = static_cast<std::int32_t>(k);
            for (std::size_t i = 0; i < 2; ++i) {
                const std::size_t at = b + lanes * i;
                const Places here = steps + static_cast<std::int32_t>(at);
                Lanes v;
                load(v, best + at + k);
                v *= g;
                came[i] = v > most[i] ? here + step : came[i];
                most[i] = v > most[i] ? v : most[i];
                load(v, best + at - k);
                v *= g;
                came[i] = v > most[i] ? here - step : came[i];
                most[i] = v > most[i] ? v : most[i];
            }
        }
        for (std::size_t i = 0; i < 2; ++i) {
            store(next + b + lanes * i, most[i]);
            std::memcpy(from + b + lanes * i, &came[i], sizeof came[i]);
        }
    }
}

// Eight sums side by side.
BENTLINE_WIDE_LANES
double sum_of(const float* p, std::size_t n) {
    double lane[8] = {};
    std::size_t b = 0;
    for (; b + 8 <= n; b += 8) {
        for (std::size_t k = 0; k < 8; ++k)
            lane[k] += static_cast<double>(p[b + k]);
    }
    double sum = 0.0;
    for (; b < n; ++b)
        sum += static_cast<double>(p[b]);
    for (const double v : lane)
        sum += v;
    return sum;
}

BENTLINE_WIDE_LANES
void scale(float* p, std::size_t n, float by) {
    for (std::size_t b = 0; b < n; ++b)
        p[b] *= by;
}

BENTLINE_WIDE_LANES
void weigh_by(float* __restrict p, const float* __restrict by, std::size_t n) {
    for (std::size_t b = 0; b < n; ++b)
        p[b] *= by[b];
}

BENTLINE_WIDE_LANES
void arrive(float* __restrict p, const float* __restrict glided, float anew,
            const float* __restrict dense, std::size_t n) {
    for (std::size_t b = 0; b < n; ++b)
        p[b] = (glided[b] + anew) * dense[b];
}

BENTLINE_WIDE_LANES
void depart(float* __restrict p, const float* __restrict glided, float leaping, float falling,
            std::size_t n) {
    for (std::size_t b = 0; b < n; ++b)
        p[b] = glided[b] + leaping + falling;
}

BENTLINE_WIDE_LANES
void keep_short(const std::int32_t* __restrict from, std::size_t n, std::uint16_t* __restrict to) {
    for (std::size_t b = 0; b < n; ++b)
        to[b] = static_cast<std::uint16_t>(from[b]);
}

}  // namespace bentline
