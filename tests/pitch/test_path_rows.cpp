// pitch: rows of probabilities, computed several bins at a time, against their definitions computed
// one bin at a time in the same order: equal bit for bit, at lengths that do and do not fill whole
// registers.
#include <algorithm>
#include <cstdint>
#include <random>
#include <vector>

#include <doctest/doctest.h>

#include "engine/pitch/path_rows.h"

using namespace bentline;

namespace {

// Every third value 0, as where nothing was heard.
std::vector<float> some_row(std::size_t n, unsigned seed) {
    std::mt19937 random(seed);
    std::vector<float> row(n);
    for (std::size_t b = 0; b < n; ++b) {
        const auto v = static_cast<float>(random() % 100000) * 1e-5F;
        row[b] = b % 3 == 2 ? 0.0F : v;
    }
    return row;
}

std::vector<float> padded(const std::vector<float>& row, std::size_t room) {
    std::vector<float> out(room + whole_rows(row.size()) + room, 0.0F);
    std::copy(row.begin(), row.end(), out.begin() + static_cast<std::ptrdiff_t>(room));
    return out;
}

const std::vector<float> glide{0.9F, 0.7F, 0.55F, 0.3F, 0.2F, 0.1F, 0.05F, 0.01F};

}  // namespace

TEST_CASE("path rows: the first of the largest is found") {
    for (const std::size_t n : {1U, 7U, 8U, 9U, 40U, 611U}) {
        const std::vector<float> row = some_row(n, static_cast<unsigned>(n));
        const auto top = std::max_element(row.begin(), row.end()) - row.begin();
        CHECK(first_largest(row.data(), n) == static_cast<std::size_t>(top));
    }
    const std::vector<float> level(20, 0.5F);
    CHECK(first_largest(level.data(), level.size()) == 0);
}

TEST_CASE("path rows: glides sum up as defined, bit for bit") {
    for (const std::size_t n : {5U, 32U, 61U, 611U}) {
        const std::vector<float> row = some_row(n, 3);
        const std::vector<float> in = padded(row, glide.size());
        std::vector<float> out(whole_rows(n));
        glide_sum(in.data() + glide.size(), n, glide.data(), glide.size(), out.data());
        std::size_t different = 0;
        for (std::size_t b = 0; b < n; ++b) {
            float sum = row[b] * glide[0];
            for (std::size_t k = 1; k < glide.size(); ++k) {
                if (b + k < n) sum += row[b + k] * glide[k];
                if (b >= k) sum += row[b - k] * glide[k];
            }
            different += out[b] != sum ? 1 : 0;
        }
        CHECK(different == 0);
    }
}

TEST_CASE("path rows: the best way is the first of the best, bit for bit") {
    for (const std::size_t n : {5U, 32U, 61U, 611U}) {
        const std::vector<float> row = some_row(n, 5);
        const std::vector<float> in = padded(row, glide.size());
        std::vector<float> next(whole_rows(n), 0.4F);
        std::vector<std::int32_t> from(whole_rows(n), -1);
        glide_best(in.data() + glide.size(), n, glide.data(), glide.size(), next.data(),
                   from.data());
        std::size_t different = 0;
        std::size_t moved = 0;
        for (std::size_t b = 0; b < n; ++b) {
            float best = 0.4F;
            int came = -1;
            const auto consider = [&](std::size_t a, std::size_t k) {
                if (!(row[a] * glide[k] > best)) return;
                best = row[a] * glide[k];
                came = static_cast<int>(a);
            };
            for (std::size_t k = 0; k < glide.size(); ++k) {
                if (b + k < n) consider(b + k, k);
                if (b >= k) consider(b - k, k);
            }
            different += next[b] != best || from[b] != came ? 1 : 0;
            moved += came >= 0 ? 1 : 0;
        }
        CHECK(different == 0);
        CHECK(moved > 0);
    }
}
