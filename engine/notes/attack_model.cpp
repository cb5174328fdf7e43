// The fitted weights of the pluck model. Made by tests/notes/fit_models; not edited by hand.
#include "engine/notes/attack_model.h"

#include <array>
#include <cmath>

namespace bentline::notes {

namespace {

constexpr std::size_t units = 12;
// A row a unit: one weight for each kind of evidence, then the offset.
constexpr std::array<std::array<double, evidence_count + 1>, units> unit_weights = {{
    {{-0.242, -0.215, 0.070, 0.046, -0.531, 0.313, 0.151, 0.537, -1.179, 2.845, 0.630, 0.723}},
    {{-1.792, -1.590, 0.014, 0.098, -0.663, -0.536, 0.081, 0.141, -0.165, -0.910, 0.047, 0.329}},
    {{0.003, 0.003, 0.001, -0.000, -0.002, -0.005, -0.005, 0.003, 0.000, -0.004, 0.003, 0.000}},
    {{0.495, 0.464, 3.641, -0.012, 0.177, -0.203, -0.558, 1.084, 0.012, -0.490, -0.586, -0.258}},
    {{2.280, -0.145, -0.415, -2.456, -1.099, -0.825, -0.029, -0.129, -0.320, -0.869, -0.551,
      0.171}},
    {{0.003, 0.003, 0.002, -0.000, -0.002, -0.006, -0.006, 0.003, -0.000, -0.004, 0.003, 0.000}},
    {{-0.351, 0.221, 0.085, 0.653, -0.187, 0.599, 0.732, 0.365, -0.022, 0.438, 0.890, 0.290}},
    {{1.757, 1.627, 1.982, 0.044, -0.773, -0.322, 0.207, 0.311, -0.327, 0.296, 0.092, -0.451}},
    {{0.758, -0.554, -0.142, 0.060, -0.500, 1.133, 0.495, 1.538, -0.592, 0.039, 2.205, -0.331}},
    {{-1.182, -0.305, -0.117, 4.580, 0.520, -0.216, 0.055, 0.172, -0.018, 0.550, 0.399, -0.631}},
    {{1.483, -0.706, 0.403, 0.764, -0.367, -0.359, -0.442, 1.459, 0.106, -0.268, -1.428, 2.024}},
    {{1.566, -0.707, -0.599, -0.243, -0.396, -0.830, 0.637, -1.272, 0.187, 0.138, -1.282, 0.307}},
}};
// One weight for each unit, then the offset.
constexpr std::array<double, units + 1> output_weights = {
    -2.944, -1.522, 0.000, 1.777, 3.003, 0.000, -1.629, 1.521, 2.977, 2.572, -2.744, 2.154, -0.993};
constexpr std::array<double, evidence_count> direct_weights = {
    2.299, -0.893, 0.392, 0.368, 0.151, 0.810, 0.417, 0.337, 0.423, 1.088, -0.655};

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
