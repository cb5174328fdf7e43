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
    {{-0.129, 0.599, -0.021, 0.102, -0.965, -0.706, 1.121, 0.056, -0.680, 0.190, 0.080, -0.573,
      -0.263, -0.057, -1.182, 0.300, -0.132, 0.024}},
    {{0.057, 0.809, -0.006, -0.025, -0.072, 0.527, 0.800, -1.600, -0.430, 0.573, -0.229, -0.234,
      0.697, -0.150, -0.008, 0.232, -0.112, 0.011}},
    {{0.477, 0.583, 0.308, -0.393, 0.279, 0.264, -0.219, 0.144, -0.740, -0.267, -0.294, -0.465,
      0.394, -0.142, -0.726, -0.682, -0.258, -0.176}},
    {{-0.630, -1.146, 0.470, -0.759, 0.061, -0.273, -0.544, 0.083, 0.731, 0.378, -0.269, 0.546,
      -0.547, -0.133, 1.095, -0.032, 0.359, 0.818}},
}};
// One weight for each unit, then the offset.
constexpr std::array<double, units + 1> output_weights = {1.779, 1.350, 1.421, -1.953, -0.099};
constexpr std::array<double, telling_count> direct_weights = {
    0.228,  0.618, -0.031, 0.126, -0.243, -0.102, 0.267,  -0.339, -0.572,
    -0.827, 0.117, -0.387, 0.365, 0.099,  -0.954, -0.022, -0.717};

// A row a kind of inflection: weights of the log-odds read, the note's log-odds, the tracker's
// trust, the likeness, the length, the level under the lead, the share of the sound, a pluck, the
// crowd, the rivalry; then the offset.
constexpr std::array<std::array<double, 11>, std::variant_size_v<InflectionKind>> kind_weights = {{
    {{0.514, 1.119, -0.888, 0.147, 1.082, 0.200, 0.242, -0.258, 0.000, 0.000, -2.351}},  // slide_in
    {{0.378, 0.619, -0.833, 0.345, 0.877, -0.061, 0.404, -0.133, 0.000, 0.000,
      -2.226}},  // slide_out
    {{0.304, 0.494, -0.699, 0.446, 0.541, 0.373, 0.488, 0.108, 0.000, 0.000,
      -2.109}},  // slide_to_next
    {{0.492, 0.463, -0.743, 0.636, 0.958, 0.227, 0.627, -0.189, 0.000, 0.000, -2.171}},  // bend
    {{0.952, 1.047, -0.545, 0.380, 0.978, 0.394, 0.251, 0.146, 0.000, 0.000, -1.933}},   // vibrato
    {{0.250, 0.707, -0.748, 0.197, 0.363, 0.191, 0.297, -0.059, 0.000, 0.000, -2.152}},  // trill
    {{-0.033, 0.895, -0.548, 0.325, 0.141, 0.729, 0.046, 0.620, 0.000, 0.000, -1.987}},  // staccato
    {{0.412, 0.999, -0.666, 0.722, -0.009, 0.584, 0.494, -0.046, 0.000, 0.000, -2.139}},  // accent
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
