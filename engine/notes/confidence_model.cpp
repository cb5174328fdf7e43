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
    {{0.327, 0.043, -0.139, -0.109, 0.040, -1.261, 0.026, -0.540, 0.052, -0.074, 0.028, -0.054,
      0.620, -0.324, -0.310, 0.278, -0.093, -0.391}},
    {{0.235, 0.094, 0.501, 0.193, -0.106, 0.202, -0.049, 0.631, 0.050, 0.853, 1.076, -0.025, 0.010,
      -0.249, 0.027, 0.423, -0.510, 0.097}},
    {{0.837, 0.082, 0.151, 0.335, 0.279, 0.313, 0.158, -0.167, 0.128, -0.164, -0.223, -0.183, 0.672,
      0.206, -0.399, -0.398, -0.487, -0.379}},
    {{-0.442, 0.333, -0.014, -0.667, -0.135, -0.098, -0.044, 0.507, 0.100, 0.095, 0.221, 0.133,
      -0.705, 0.604, 0.423, -0.169, 0.090, 0.988}},
}};
// One weight for each unit, then the offset.
constexpr std::array<double, units + 1> output_weights = {1.454, 1.550, 1.658, -1.860, -0.587};
constexpr std::array<double, telling_count> direct_weights = {
    0.551, -0.051, 0.141,  0.696, 0.034,  0.383,  0.161,  -0.254, 0.192,
    0.086, 0.150,  -0.143, 0.384, -0.222, -0.559, -0.352, -0.729};

// A row a kind of inflection: weights of the log-odds read, the note's log-odds, the tracker's
// trust, the likeness, the length, the level under the lead, the share of the sound, a pluck, the
// crowd, the rivalry; then the offset.
constexpr std::array<std::array<double, 11>, std::variant_size_v<InflectionKind>> kind_weights = {{
    // slide_in, slide_out, slide_to_next, bend, vibrato, trill, staccato, accent
    {{0.189, 0.688, -0.405, -0.092, 0.549, -0.519, 0.094, -0.332, -0.172, -0.482, -0.489}},
    {{0.014, 0.229, -0.655, 0.341, 1.300, -0.552, 0.454, -0.349, -0.835, -0.732, -0.661}},
    {{0.034, 0.531, -0.577, 0.069, 0.346, -1.038, 0.284, -0.071, -0.578, -0.740, -0.633}},
    {{0.675, 0.337, -0.772, -0.640, 0.406, -0.247, -0.374, -0.636, -0.078, -0.572, -0.798}},
    {{0.406, 0.672, -0.396, 0.003, -0.176, -0.161, 0.056, -0.111, -0.381, -0.452, -0.411}},
    {{0.353, 0.610, -0.465, -0.279, -0.464, 0.053, -0.160, -0.423, -0.240, -0.260, -0.472}},
    {{-0.192, 0.421, -0.157, -0.302, -0.962, 0.068, 0.239, -0.060, -0.687, -0.522, -0.439}},
    {{0.452, 0.326, -0.840, 0.558, -0.283, 2.342, 0.615, -0.432, 0.186, -0.332, -0.988}},
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
