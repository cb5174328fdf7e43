// Pooling of neighbours, on places less the room that must lie before them.
#include "ui/window/spread.h"

#include <algorithm>

namespace bentline::window {

std::vector<double> spread(const Row& row) {
    struct Pool {
        double sum = 0;
        std::size_t count = 0;
        double mean() const { return sum / static_cast<double>(count); }
    };
    std::vector<double> before(row.wanted.size(), 0.0);  // room that must lie before each
    for (std::size_t i = 1; i < before.size(); ++i)
        before[i] = before[i - 1] + row.apart[i - 1];
    std::vector<Pool> pools;
    for (std::size_t i = 0; i < row.wanted.size(); ++i) {
        Pool pool{row.wanted[i] - before[i], 1};
        while (!pools.empty() && pools.back().mean() > pool.mean()) {
            pool.sum += pools.back().sum;
            pool.count += pools.back().count;
            pools.pop_back();
        }
        pools.push_back(pool);
    }
    std::vector<double> placed;
    const double last = before.empty() ? 0.0 : row.to - before.back();
    for (const Pool& pool : pools) {
        for (std::size_t n = 0; n < pool.count; ++n) {
            const std::size_t i = placed.size();
            // Alone it is not summed up again, so that it stays where it is to the last bit.
            double at = pool.count == 1 ? row.wanted[i] : pool.mean() + before[i];
            at = std::max(row.from + before[i], std::min(at, last + before[i]));
            placed.push_back(std::clamp(at, row.wanted[i] - row.most, row.wanted[i] + row.most));
        }
    }
    return placed;
}

}  // namespace bentline::window
