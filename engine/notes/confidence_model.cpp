// The fitted weights of the confidences. Made by tests/notes/fit_models; not edited by hand.
#include "engine/notes/confidence_model.h"

#include <array>
#include <cmath>
#include <variant>

namespace bentline::notes {

namespace {

constexpr std::size_t units = 4;
// A row a unit: one weight for each entry of the evidence, then the offset.
constexpr std::array<std::array<double, telling_count + 1>, units> unit_weights = {{
    {{0.059, 0.109, 0.022, -0.088, 0.037, -1.005, -0.125, -0.157, -0.016, 0.226, 0.240, -0.009,
      0.522, -0.526, -0.227, 0.395, -0.409, -0.426}},
    {{-0.000, -0.000, -0.000, 0.002, -0.000, -0.001, -0.000, 0.000, 0.000, 0.000, -0.001, 0.001,
      -0.001, 0.000, 0.000, -0.002, 0.000, -0.000}},
    {{0.669, -0.075, 0.413, 0.583, 0.560, 0.363, 0.110, -0.127, 0.068, -0.209, -0.103, -0.082,
      0.688, -0.036, -0.319, -0.483, -0.485, -0.369}},
    {{-0.289, -0.016, -0.031, -0.492, -0.259, -0.096, -0.181, 0.696, 0.046, -0.137, 0.031, 0.063,
      -0.659, 0.419, 0.704, -0.108, 0.039, 0.890}},
}};
// One weight for each unit, then the offset.
constexpr std::array<double, units + 1> output_weights = {1.333, -0.000, 1.849, -1.736, -0.456};
constexpr std::array<double, telling_count> direct_weights = {
    0.536, 0.146, 0.425,  0.624, 0.086,  0.217,  0.532,  -0.077, 0.074,
    0.126, 0.222, -0.086, 0.706, -0.088, -0.384, -0.119, -1.101};

// A row a kind of inflection: weights of the log-odds read, the note's log-odds, the tracker's
// trust, the likeness, the length, the level under the lead, the share of the sound, a pluck, the
// crowd, the rivalry; then the offset.
constexpr std::array<std::array<double, 11>, std::variant_size_v<InflectionKind>> kind_weights = {{
    {{0.405, 0.649, -0.434, -0.329, 0.436, 0.251, 0.080, -0.412, 0.115, -0.505,
      -0.492}},  // slide_in
    {{0.182, 0.226, -0.629, 0.507, 0.893, -0.528, 0.595, -0.298, -1.277, -0.774,
      -0.645}},  // slide_out
    {{0.055, 0.257, -0.356, 0.222, 0.289, -1.026, 0.332, 0.257, -0.836, -0.817,
      -0.400}},  // slide_to_next
    {{0.887, 0.283, -0.810, -0.642, 0.234, -0.383, 0.042, -0.514, -0.641, -0.700, -0.837}},  // bend
    {{0.500, 0.678, -0.410, -0.102, -0.126, -0.463, -0.124, -0.322, -0.738, -0.676,
      -0.419}},  // vibrato
    {{0.515, 0.514, -0.400, -0.238, -0.522, -0.388, 0.174, -0.391, -0.518, -0.167,
      -0.391}},  // trill
    {{-0.101, 0.453, -0.424, -0.314, -1.323, 0.317, 0.653, -0.002, -0.928, -0.172,
      -0.702}},  // staccato
    {{0.464, 0.324, -0.797, 0.636, -0.302, 2.329, 0.819, -0.505, 0.099, -0.429, -0.935}},  // accent
}};

}  // namespace

double note_log_odds(const TellingVector& telling) {
    double odds = output_weights[units];
    for (std::size_t k = 0; k < telling_count; ++k)
        odds += direct_weights[k] * telling[k];
    for (std::size_t u = 0; u < units; ++u) {
        double sum = unit_weights[u][telling_count];
        for (std::size_t k = 0; k < telling_count; ++k)
            sum += unit_weights[u][k] * telling[k];
        odds += output_weights[u] * std::tanh(sum);
    }
    return odds;
}

double inflection_log_odds(std::size_t kind, double read, double note_odds,
                           const TellingVector& telling) {
    const std::array<double, 10> x = {read,
                                      note_odds,
                                      telling[tracker_trust],
                                      telling[likeness],
                                      telling[length_octaves],
                                      telling[under_lead],
                                      telling[share_of_sound],
                                      telling[was_struck],
                                      telling[crowd],
                                      telling[rivalry]};
    const auto& w = kind_weights.at(kind);
    double odds = w[x.size()];
    for (std::size_t k = 0; k < x.size(); ++k)
        odds += w[k] * x[k];
    return odds;
}

}  // namespace bentline::notes
