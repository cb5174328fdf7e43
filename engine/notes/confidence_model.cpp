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
    {{0.452, 0.638, -0.443, -0.356, 0.429, 0.177, 0.026, -0.416, 0.145, -0.537,
      -0.500}},  // slide_in
    {{0.177, 0.241, -0.637, 0.500, 0.837, -0.580, 0.533, -0.271, -1.223, -0.754,
      -0.653}},  // slide_out
    {{0.099, 0.260, -0.415, 0.249, 0.271, -1.217, 0.237, 0.285, -0.806, -0.823,
      -0.461}},  // slide_to_next
    {{0.895, 0.285, -0.830, -0.671, 0.276, -0.236, 0.044, -0.555, -0.552, -0.621, -0.861}},  // bend
    {{0.442, 0.696, -0.359, -0.082, -0.080, -0.416, -0.042, -0.390, -0.714, -0.666,
      -0.369}},  // vibrato
    {{0.543, 0.501, -0.428, -0.236, -0.545, -0.354, 0.226, -0.416, -0.492, -0.142,
      -0.416}},  // trill
    {{-0.050, 0.421, -0.445, -0.276, -1.321, 0.281, 0.729, -0.062, -0.953, -0.255,
      -0.696}},  // staccato
    {{0.034, 0.406, -0.555, 0.571, -0.380, 2.316, 0.827, -0.364, -0.223, -0.338,
      -0.610}},  // accent
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
