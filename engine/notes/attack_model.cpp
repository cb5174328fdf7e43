// The fitted weights of the pluck model. Made by tests/corpus/fit_attacks; not edited by hand.
#include "engine/notes/attack_model.h"

#include <array>
#include <cmath>

namespace bentline::notes {

namespace {

constexpr std::size_t units = 8;
// A row a unit: one weight for each kind of evidence, then the offset.
constexpr std::array<std::array<double, evidence_count + 1>, units> unit_weights = {{
    {{-0.272, -1.669, 0.114, 0.274, -0.500, 1.082, -1.125, 0.037, -0.386, -0.112, 0.887}},
    {{-1.537, 0.381, -0.328, -0.011, 0.325, -0.386, -0.448, 0.181, 0.762, 0.555, 1.043}},
    {{0.259, -0.197, -0.200, 1.063, -1.074, -1.385, 0.323, -0.462, 0.561, -0.675, -0.078}},
    {{-0.388, 0.245, -0.517, -1.031, -0.085, 1.445, -0.011, 0.799, 0.907, -0.539, -1.222}},
    {{0.109, -0.293, -0.076, 0.459, 0.717, -0.207, -0.167, 0.798, -0.088, -1.294, 0.290}},
    {{-0.516, -0.019, -0.118, 3.327, -0.118, 0.358, -0.660, -0.086, 0.197, -0.080, -0.698}},
    {{-1.550, -0.748, -2.206, -0.137, -1.002, 1.860, 0.520, -0.861, 0.021, -0.358, 0.069}},
    {{0.749, -0.749, 0.058, 0.128, 0.132, 0.295, 0.406, 1.054, -0.318, -0.880, -0.869}},
}};
// One weight for each unit, then the offset.
constexpr std::array<double, units + 1> output_weights = {-1.889, -2.060, -1.524, 1.905, -1.766,
                                                          2.525,  -2.731, 1.571,  -1.164};
constexpr std::array<double, evidence_count> direct_weights = {
    0.411, -0.277, 0.051, -0.596, -0.019, 0.358, 1.088, -0.252, 0.037, -0.268};

}  // namespace

double pluck_log_odds(const EvidenceVector& evidence) {
    double odds = output_weights[units];
    for (std::size_t k = 0; k < evidence_count; ++k)
        odds += direct_weights[k] * evidence[k];
    for (std::size_t u = 0; u < units; ++u) {
        double sum = unit_weights[u][evidence_count];
        for (std::size_t k = 0; k < evidence_count; ++k)
            sum += unit_weights[u][k] * evidence[k];
        odds += output_weights[u] * std::tanh(sum);
    }
    return odds;
}

}  // namespace bentline::notes
