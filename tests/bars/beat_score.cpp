// Beats found and true, paired off in order.
#include "tests/bars/beat_score.h"

namespace bentline::testing {

double beat_f_measure(std::vector<Seconds> truth, std::vector<Seconds> found) {
    constexpr Seconds tolerance{0.07};
    constexpr Seconds left_out{5.0};
    for (auto* row : {&truth, &found}) {
        std::erase_if(*row, [](Seconds t) { return t < left_out; });
    }
    if (truth.empty() || found.empty()) return 0.0;
    std::size_t hits = 0;
    std::size_t i = 0;
    for (std::size_t k = 0; i < truth.size() && k < found.size();) {
        const Seconds off = found[k] - truth[i];
        if (off < -tolerance) {
            ++k;
        } else if (off > tolerance) {
            ++i;
        } else {
            ++hits, ++i, ++k;
        }
    }
    return 2.0 * static_cast<double>(hits) / static_cast<double>(truth.size() + found.size());
}

}  // namespace bentline::testing
