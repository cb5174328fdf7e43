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
    {{0.366,  0.496, 0.089,  0.017, -1.060, 0.377,  -0.629, -0.332, -0.070,
      -0.494, 0.277, 0.000,  0.289, -0.332, -0.469, -0.179, 0.332,  -0.185,
      0.000,  0.417, -1.297, 0.076, 0.221,  0.429,  -0.700}},
    {{-0.171, 0.091, 1.149,  1.055,  -0.595, 1.384,  0.000, -0.601, 0.643,
      -1.006, 0.678, -0.080, 0.508,  -0.929, -1.224, 0.260, 0.178,  -0.022,
      0.000,  0.091, -1.339, -0.614, 0.131,  -0.695, -0.768}},
    {{0.044,  0.401,  -0.841, -0.076, -2.039, -2.345, 0.179, -0.656, 0.901,
      -0.424, 0.102,  -0.419, 0.687,  -0.709, -0.706, 0.296, 0.526,  -0.025,
      0.000,  -0.533, -1.207, -0.710, 0.179,  0.055,  -0.758}},
    {{0.577,  -0.212, 0.174,  0.044,  -1.013, 0.270,  -0.376, -0.394, 0.083,
      -0.129, 1.013,  0.027,  0.687,  0.113,  -1.436, -0.347, -0.449, 0.106,
      0.000,  -0.328, -0.701, -0.476, 0.141,  -0.970, -0.385}},
    {{0.396,  0.502,  0.280, 1.118,  -1.272, 0.349,  -0.715, -0.120, 0.493,
      -0.075, -0.073, 0.114, -0.630, 0.056,  -0.239, -0.982, 0.157,  0.020,
      0.000,  -0.056, 0.466, -0.655, 0.269,  -0.327, -0.106}},
    {{0.505, 0.383, 0.261,  -1.808, 0.539, 0.392,  0.355,  0.007, 0.378,
      0.033, 1.286, 0.000,  -1.204, 0.676, -0.635, -0.288, 0.388, 0.000,
      0.000, 0.183, -0.882, 0.077,  0.097, -0.264, -0.031}},
    {{0.225, 0.567,  -2.337, 0.000,  -1.899, 0.487, 0.126, -0.738, -0.072,
      0.208, 0.331,  -0.943, -1.191, 0.343,  0.251, 0.386, -0.795, -1.215,
      0.000, -0.428, 0.255,  0.170,  0.351,  0.106, -1.134}},
    {{0.499,  0.526,  0.010,  0.000,  -0.249, 0.055,  -0.239, -1.307, 1.060,
      -0.537, 0.246,  -0.583, -0.191, 3.230,  -0.154, 0.285,  -0.303, 0.094,
      0.000,  -0.299, -1.016, 0.859,  -0.099, 0.430,  -1.677}},
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
