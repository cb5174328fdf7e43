// How much speaks for each hypothesis and for silence: a log-linear model over a few measures.
#pragma once

#include <array>
#include <cstddef>
#include <span>
#include <vector>

#include "engine/pitch/hypotheses.h"

namespace bentline {

// Measures of one hypothesis, all of order 1; the comments in evidence.cpp say what each is.
inline constexpr std::size_t pitch_measures = 36;
using PitchMeasures = std::array<float, pitch_measures>;
// Measures of a moment that speak for silence.
inline constexpr std::size_t silence_measures = 16;
using SilenceMeasures = std::array<float, silence_measures>;

struct MomentMeasures {
    std::vector<PitchMeasures> pitches;  // one for each hypothesis
    SilenceMeasures silence{};
    float clean = 0.0F;  // 1: one sound alone, here and around; 0: a crowd
};

// Measures of all moments: some compare a moment with those around it. `stage`: place of the
// soloist where it is known, else not used.
std::vector<MomentMeasures> measure(std::span<const Moment> moments, Seconds hop);

// The model: log-likelihood (to a constant) is the scalar product with weights that lie between
// those for a sound alone and those for a crowd, by how clean the moment is.
struct EvidenceWeights {
    PitchMeasures pitch{};
    SilenceMeasures silence{};
};
struct EvidenceModel {
    EvidenceWeights alone;
    EvidenceWeights crowd;
};
// Fitted by maximum likelihood to generated music; evidence.cpp says how.
const EvidenceModel& fitted_model();

// Evidence for the path: probabilities of the hypotheses and of silence, softened by `trust`, since
// neighbouring moments share most of their sound.
std::vector<FrameEvidence> weigh(std::span<const Moment> moments,
                                 std::span<const MomentMeasures> measures,
                                 const EvidenceModel& model, const PitchGrid& grid, double trust);

}  // namespace bentline
