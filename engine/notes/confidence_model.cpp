// The fitted weights of the confidences. Made by tests/notes/fit_models; not edited by hand.
#include "engine/notes/confidence_model.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <optional>
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

// A row a kind of inflection: one weight for each entry of what tells of it, then the offset.
using KindWeights = std::array<double, inflection_telling_count + 1>;
constexpr std::array<KindWeights, std::variant_size_v<InflectionKind>> kind_weights = {{
    // slide_in, slide_out, slide_to_next, bend, vibrato, trill, staccato, accent
    {{0.334,  0.400, 0.120,  -0.014, -0.975, 0.359,  -0.679, -0.172, -0.025,
      -0.231, 0.384, 0.000,  0.314,  -0.309, -0.607, -0.044, 0.163,  -0.207,
      0.000,  0.047, -1.085, -0.271, 0.220,  0.253,  -0.269}},
    {{-0.022, 0.142,  0.813,  0.703,  -0.675, 0.687,  0.000, -0.293, 0.249,
      -0.376, 0.193,  0.014,  0.586,  -0.581, -0.716, 0.613, -0.008, -0.047,
      0.000,  -0.174, -0.797, -0.708, 0.111,  -0.407, -0.326}},
    {{0.060,  0.345,  -0.291, -0.121, -1.373, -1.499, 0.430, -0.320, 0.432,
      -0.315, 0.143,  -0.258, 0.537,  -0.581, -0.845, 0.724, 0.298,  -0.057,
      0.000,  -0.249, -1.108, -0.895, 0.143,  -0.099, -0.361}},
    {{0.558,  0.037,  0.188,  0.061,  -0.987, 0.234,  -0.421, -0.333, -0.116,
      -0.242, 0.352,  -0.216, 0.608,  0.077,  -1.167, -0.190, -0.526, 0.052,
      0.000,  -0.301, -0.696, -0.451, 0.155,  -0.707, -0.339}},
    {{0.233, 0.307, 0.278, 0.723,  -1.083, 0.305,  -0.711, -0.010, 0.267,
      0.017, 0.237, 0.034, -0.132, -0.121, -0.346, -0.404, 0.058,  0.119,
      0.000, 0.011, 0.014, -0.496, 0.255,  -0.522, -0.016}},
    {{0.192,  0.384,  0.239,  -0.581, 0.131, 0.204,  0.263, -0.102, 0.191,
      -0.103, 0.469,  0.000,  -0.169, 0.455, -0.510, 0.284, 0.157,  0.000,
      0.000,  -0.035, -0.463, -0.455, 0.206, -0.251, -0.124}},
    {{-0.099, 0.342,  -1.489, 0.000,  -1.305, 0.484,  0.053, -0.211, -0.055,
      0.115,  0.556,  -1.096, -0.877, 0.371,  0.164,  0.308, -0.660, -0.092,
      0.000,  -0.191, -0.046, -0.314, 0.254,  -0.297, -0.284}},
    {{0.568,  0.408,  0.036,  0.000,  -0.342, 0.049,  -0.242, -0.749, 0.463,
      -0.502, 0.384,  -0.635, -0.193, 2.568,  -0.338, 0.559,  -0.290, -0.087,
      0.000,  -0.382, -1.164, 0.134,  -0.133, 0.241,  -0.876}},
}};

double odds_of(double confidence) {
    const double c = std::clamp(confidence, 1e-4, 1.0 - 1e-4);
    return std::log(c / (1.0 - c));
}

double between(std::optional<MidiKey> a, MidiKey b) {
    return a ? 0.5 * std::abs(a->value() - b.value()) : 0.0;
}

double whole_tones(const Inflection& which, const Note& note, const Note* next) {
    if (const auto* s = std::get_if<SlideIn>(&which.what)) return between(s->from, note.key);
    if (const auto* s = std::get_if<SlideOut>(&which.what)) return between(s->to, note.key);
    if (std::holds_alternative<SlideToNext>(which.what))
        return next ? between(next->key, note.key) : 0.0;
    if (const auto* b = std::get_if<Bend>(&which.what)) return b->size.value() / 200.0;
    if (const auto* v = std::get_if<Vibrato>(&which.what)) return v->depth.value() / 200.0;
    if (const auto* t = std::get_if<Trill>(&which.what)) return 0.5 * std::abs(t->semitones);
    return 0.0;
}

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

InflectionVector telling_of_inflection(const std::vector<Note>& notes,
                                       const std::vector<TellingVector>& telling, std::size_t i,
                                       const Inflection& which) {
    const Note& note = notes[i];
    const bool last = i + 1 == notes.size();
    InflectionVector t{};
    t[as_read] = odds_of(which.confidence.value_or(0.5));
    t[of_note] = odds_of(note.confidence.value_or(0.5));
    const double seconds = last ? 1.0 : (notes[i + 1].onset - note.offset).value();
    t[silence] = std::log2(std::clamp(seconds, 0.01, 1.0) / 0.1) / 3.0;
    t[how_far] = std::clamp(whole_tones(which, note, last ? nullptr : &notes[i + 1]), 0.0, 4.0);
    t[beside] = 0.5 * (static_cast<double>(note.inflections.size()) - 1.0);
    if (!last) {
        t[next_struck] = telling[i + 1][pluck_odds];
        t[next_slid_to] = telling[i + 1][was_slid_to];
    }
    std::copy(telling[i].begin(), telling[i].end(), t.begin() + telling_of_note);
    return t;
}

double inflection_log_odds(std::size_t kind, const InflectionVector& told) {
    const KindWeights& w = kind_weights.at(kind);
    double odds = w[told.size()];
    for (std::size_t k = 0; k < told.size(); ++k)
        odds += w[k] * told[k];
    return odds;
}

}  // namespace bentline::notes
