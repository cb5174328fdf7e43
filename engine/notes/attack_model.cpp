// The fitted weights of the pluck model. Made by tests/notes/fit_models; not edited by hand.
#include "engine/notes/attack_model.h"

#include <array>
#include <cmath>

namespace bentline::notes {

namespace {

constexpr std::size_t units = 12;
// A row a unit: one weight for each kind of evidence, then the offset.
constexpr std::array<std::array<double, evidence_count + 1>, units> unit_weights = {{
    {{-0.353, -0.166, 0.125, -0.009, -0.532, 0.429, 0.420, 0.455, -0.405, -0.171, -0.045, -1.039,
      2.664, 0.584, -0.416, 0.831}},
    {{-1.847, -1.618, 0.075, 0.025, -0.695, -0.518, 0.212, 0.162, -0.001, -0.044, -0.023, -0.125,
      -0.908, 0.045, -0.144, 0.378}},
    {{0.003, 0.003, 0.001, 0.000, -0.002, -0.005, -0.005, 0.003, 0.000, 0.000, 0.000, 0.000, -0.004,
      0.003, 0.000, 0.000}},
    {{0.524, 0.529, 3.631, -0.060, 0.156, 0.022, -0.825, 1.068, 0.021, 0.202, -0.135, -0.060,
      -0.530, -0.724, 0.113, -0.340}},
    {{2.299, -0.143, -0.438, -2.513, -0.974, -0.637, -0.216, -0.099, 0.214, 0.179, 0.334, -0.411,
      -0.753, -0.532, 0.016, 0.118}},
    {{0.003, 0.003, 0.002, 0.000, -0.002, -0.006, -0.006, 0.003, 0.000, 0.000, 0.000, 0.000, -0.004,
      0.003, 0.000, 0.000}},
    {{-0.394, 0.231, 0.048, 0.536, -0.272, 0.524, 0.560, 0.416, -0.105, -0.093, -0.208, 0.041,
      0.502, 1.001, -0.115, 0.363}},
    {{1.801, 1.604, 2.000, 0.086, -0.921, -0.503, 0.118, 0.307, 0.095, 0.198, 0.095, -0.399, 0.185,
      0.079, 0.168, -0.536}},
    {{0.847, -0.460, -0.205, 0.100, -0.474, 1.085, 0.349, 1.530, 0.058, 0.281, 0.098, -0.774,
      -0.009, 2.006, 0.132, -0.451}},
    {{-1.252, -0.269, -0.194, 4.555, 0.479, -0.227, -0.168, 0.187, -0.063, 0.193, -0.062, -0.019,
      0.512, 0.477, 0.109, -0.650}},
    {{1.494, -0.595, 0.308, 0.809, -0.408, -0.348, -0.170, 1.476, -0.269, -0.345, 0.241, 0.237,
      -0.407, -1.480, -0.282, 2.161}},
    {{1.577, -0.784, -0.688, -0.242, -0.347, -0.878, 0.361, -1.332, 0.083, 0.212, -0.159, 0.207,
      0.189, -1.246, 0.192, 0.322}},
}};
// One weight for each unit, then the offset.
constexpr std::array<double, units + 1> output_weights = {-2.953, -1.576, -0.000, 1.905, 3.034,
                                                          -0.000, -1.782, 1.639,  2.925, 2.594,
                                                          -3.025, 2.268,  -1.116};
constexpr std::array<double, evidence_count> direct_weights = {2.425, -0.900, 0.333, 0.347,  0.068,
                                                               0.908, 0.252,  0.305, 0.370,  0.172,
                                                               0.231, 0.302,  1.279, -0.822, 0.385};

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

std::vector<double> pluck_weights() {
    std::vector<double> all;
    for (const auto& row : unit_weights)
        all.insert(all.end(), row.begin(), row.end());
    all.insert(all.end(), output_weights.begin(), output_weights.end());
    all.insert(all.end(), direct_weights.begin(), direct_weights.end());
    return all;
}

}  // namespace bentline::notes
