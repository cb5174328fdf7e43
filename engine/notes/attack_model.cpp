// The fitted weights of the pluck model. Made by tests/notes/fit_models; not edited by hand.
#include "engine/notes/attack_model.h"

#include <array>
#include <cmath>

namespace bentline::notes {

namespace {

constexpr std::size_t units = 12;
// A row a unit: one weight for each kind of evidence, then the offset.
constexpr std::array<std::array<double, evidence_count + 1>, units> unit_weights = {{
    {{-0.987, -2.083, -1.003, 0.188, -0.241, 0.558, 0.284, -0.530, -0.104, 0.356, 1.222, 0.382}},
    {{-0.055, 0.433, -0.362, -4.475, -0.293, 0.130, 0.495, 0.197, -0.105, 0.026, -0.321, 0.484}},
    {{0.124, -0.296, -1.137, -1.025, 0.490, 2.601, 0.554, 0.032, -0.730, 0.972, 2.743, -0.954}},
    {{-2.221, -0.160, -2.687, 1.368, 1.057, 0.705, 0.718, -1.098, -2.020, 0.773, 0.682, 1.280}},
    {{-0.022, 0.442, 0.173, 0.034, -0.189, 0.145, 0.020, 0.060, 0.266, -0.401, 0.373, 0.455}},
    {{-1.423, 0.113, 0.115, 0.088, -0.003, 0.209, -1.123, -1.639, -0.531, 0.085, -0.513, 1.714}},
    {{-1.228, 0.067, 0.681, 0.386, -1.922, -1.597, 1.396, -0.740, 0.915, -0.371, -1.407, 0.408}},
    {{0.772, -0.447, -0.952, 2.089, -1.142, -0.617, 1.409, 0.114, -0.280, 1.068, -1.190, -0.496}},
    {{0.177, 0.164, 0.536, -2.433, -2.104, -0.922, -0.366, -0.130, -0.168, 0.036, 0.462, -0.795}},
    {{-0.555, -0.124, -0.038, -0.034, -1.874, -0.341, 0.341, 0.369, -0.947, 3.598, 0.314, 1.241}},
    {{-0.786, 0.655, 0.383, 1.036, -0.196, -0.101, -1.253, -0.292, 0.085, -0.699, 1.129, 0.224}},
    {{0.628, 2.853, -0.494, -0.198, -0.222, -0.629, -0.179, -0.307, -0.425, 0.745, 0.030, -0.345}},
}};
// One weight for each unit, then the offset.
constexpr std::array<double, units + 1> output_weights = {-2.395, -2.731, 4.014, -3.636, -1.367,
                                                          -3.031, -2.218, 2.300, 2.513,  -2.530,
                                                          -1.758, 2.260,  -1.242};
constexpr std::array<double, evidence_count> direct_weights = {
    0.223, -0.937, -0.385, 0.488, -0.203, -1.034, 0.718, 1.137, 0.841, -1.555, 0.845};

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
