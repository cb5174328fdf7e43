// What the path's decoder does to rows of probabilities, one value a bin. All values are at least
// 0. Each result is the same, bit for bit, on any processor of one kind. [any]
#pragma once

#include <cstddef>
#include <cstdint>

namespace bentline {

// Rows that glides read and write are computed in whole registers: what lies behind the n values
// asked for, up to whole_rows(n), is written too and means nothing.
constexpr std::size_t whole_rows(std::size_t n) {
    return (n + 31) / 32 * 32;
}

// Where the largest of n values lies, the first of equals. n: at least 1.
std::size_t first_largest(const float* p, std::size_t n);

// out[b] = from[b] * glide[0] + sum over k = 1 to reach - 1 of from[b + k] * glide[k], then
// from[b - k] * glide[k]. `reach` values before `from` and behind its whole_rows(n) can be read,
// and those outside its n values are 0.
void glide_sum(const float* from, std::size_t n, const float* glide, std::size_t reach, float* out);

// The best way into each bin by gliding, where one is better than what is there already: next[b] is
// the largest of itself and best[b +- k] * glide[k], and from[b] the bin that it came from; of
// equals the first, by k, above before below. best: as `from` of glide_sum.
void glide_best(const float* best, std::size_t n, const float* glide, std::size_t reach,
                float* next, std::int32_t* from);

// Of n values, eight sums side by side.
double sum_of(const float* p, std::size_t n);

// p[b] *= by.
void scale(float* p, std::size_t n, float by);
// p[b] *= by[b].
void weigh_by(float* p, const float* by, std::size_t n);
// p[b] = (glided[b] + anew) * dense[b].
void arrive(float* p, const float* glided, float anew, const float* dense, std::size_t n);
// p[b] = glided[b] + leaping + falling.
void depart(float* p, const float* glided, float leaping, float falling, std::size_t n);
// to[b] = from[b]; all fit.
void keep_short(const std::int32_t* from, std::size_t n, std::uint16_t* to);

}  // namespace bentline
