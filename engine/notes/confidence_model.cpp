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
    {{-0.817, -1.300, 0.012, 0.060, -0.678, -0.032, -1.276, 0.002, 0.895, -0.146, 0.403, 0.152,
      0.686}},
    {{-0.506, -1.142, -0.024, -0.268, -0.213, 0.055, -0.179, 0.813, -0.052, 0.191, -0.173, 0.004,
      1.324}},
    {{0.000, 0.000, 0.000, 0.000, -0.000, -0.000, -0.000, -0.000, -0.000, -0.000, 0.000, -0.000,
      -0.000}},
    {{-0.304, -0.417, 0.041, -0.156, 0.031, -0.023, -0.152, -0.012, 0.363, 0.126, -0.031, 0.069,
      0.500}},
}};
// One weight for each unit, then the offset.
constexpr std::array<double, units + 1> output_weights = {-2.333, -2.060, 0.000, -0.798, -0.577};
constexpr std::array<double, telling_count> direct_weights = {
    0.430, 0.747, 0.167, 0.371, -0.003, -0.079, 0.455, -0.402, -0.564, -0.656, 0.000, -0.093};

// A row a kind of inflection: weights of the log-odds read, the note's log-odds, the tracker's
// trust, the likeness, the length, the level under the lead, the share of the sound, a pluck; then
// the offset.
constexpr std::array<std::array<double, 9>, std::variant_size_v<InflectionKind>> kind_weights = {{
    {{0.514, 1.119, -0.888, 0.147, 1.082, 0.200, 0.242, -0.258, -2.351}},   // slide_in
    {{0.378, 0.619, -0.833, 0.345, 0.877, -0.061, 0.404, -0.133, -2.226}},  // slide_out
    {{0.304, 0.494, -0.699, 0.446, 0.541, 0.373, 0.488, 0.108, -2.109}},    // slide_to_next
    {{0.492, 0.463, -0.743, 0.636, 0.958, 0.227, 0.627, -0.189, -2.171}},   // bend
    {{0.952, 1.047, -0.545, 0.380, 0.978, 0.394, 0.251, 0.146, -1.933}},    // vibrato
    {{0.250, 0.707, -0.748, 0.197, 0.363, 0.191, 0.297, -0.059, -2.152}},   // trill
    {{-0.033, 0.895, -0.548, 0.325, 0.141, 0.729, 0.046, 0.620, -1.987}},   // staccato
    {{0.412, 0.999, -0.666, 0.722, -0.009, 0.584, 0.494, -0.046, -2.139}},  // accent
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
    const std::array<double, 8> x = {read,
                                     note_odds,
                                     telling[tracker_trust],
                                     telling[likeness],
                                     telling[length_octaves],
                                     telling[under_lead],
                                     telling[share_of_sound],
                                     telling[was_struck]};
    const auto& w = kind_weights.at(kind);
    double odds = w[x.size()];
    for (std::size_t k = 0; k < x.size(); ++k)
        odds += w[k] * x[k];
    return odds;
}

}  // namespace bentline::notes
