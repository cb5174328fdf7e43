// The fitted weights of the pluck model. Made by tests/notes/fit_models; not edited by hand.
#include "engine/notes/attack_model.h"

#include <array>
#include <cmath>

namespace bentline::notes {

namespace {

constexpr std::size_t units = 12;
// A row a unit: one weight for each kind of evidence, then the offset.
constexpr std::array<std::array<double, evidence_count + 1>, units> unit_weights = {{
    {{0.036, -0.131, 0.539, 0.020, -1.087, 0.048, 0.138, 0.214, -1.554, 3.291, 1.193, 0.988}},
    {{0.792, -0.581, 0.629, 1.215, -0.159, -0.418, -0.410, 1.300, 0.199, -0.492, -1.269, 1.258}},
    {{-0.838, -1.592, 1.635, 0.146, -0.294, 0.540, 0.106, 0.513, -0.646, -0.456, 0.150, 0.119}},
    {{-0.204, 0.357, 3.664, -0.322, -0.088, 0.447, -0.477, 0.479, -0.011, -1.214, -0.434, -0.351}},
    {{1.351, 0.001, -0.446, -2.794, -1.542, -0.550, 0.078, -0.501, -0.117, -0.588, -1.156, 0.431}},
    {{0.989, 0.724, 1.818, 0.594, -0.182, -1.931, -0.119, -1.152, 0.886, 0.489, -1.191, 0.279}},
    {{-1.816, 0.792, -0.017, -0.177, 0.272, 0.010, 1.254, -1.411, -0.583, 0.131, 0.757, 0.671}},
    {{0.534, 2.052, 0.816, -0.227, 0.990, 0.222, 0.454, 0.518, -0.079, 0.540, -0.385, -0.083}},
    {{-0.579, -0.389, 0.038, 0.793, -0.688, 0.721, 0.531, 0.961, -0.699, 0.107, 2.611, -0.856}},
    {{-0.952, -0.342, -0.152, 5.163, 0.255, -0.432, -0.133, -0.033, -0.118, 0.314, 0.487, -0.307}},
    {{-0.810, 0.438, -0.186, -0.266, -0.015, -0.599, -1.063, -0.039, -0.171, 0.098, 1.463, 0.895}},
    {{0.298, 0.522, -0.367, -0.900, -0.040, -0.785, -0.127, 0.483, -1.253, -0.678, -1.033, -0.542}},
}};
// One weight for each unit, then the offset.
constexpr std::array<double, units + 1> output_weights = {-2.698, -3.093, -1.377, 1.486, 3.159,
                                                          2.053,  -2.117, 1.531,  3.217, 2.978,
                                                          -1.332, 1.748,  -1.174};
constexpr std::array<double, evidence_count> direct_weights = {
    0.389, -0.116, 0.255, -1.068, 0.663, 1.118, 0.370, 0.138, 0.214, 1.048, 0.115};

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
