// How much speaks for each hypothesis and for silence: a log-linear model over a few measures.
#pragma once

#include <array>
#include <cstddef>
#include <span>
#include <vector>

#include "engine/pitch/hypotheses.h"
#include "engine/pitch/lead_net.h"
#include "engine/pitch/portrait.h"

namespace bentline {

// Measures of one hypothesis, all of order 1; the comments in evidence.cpp say what each is.
inline constexpr std::size_t pitch_measures = 40;
using PitchMeasures = std::array<float, pitch_measures>;
// Measures of a moment that speak for silence.
inline constexpr std::size_t silence_measures = 18;
using SilenceMeasures = std::array<float, silence_measures>;
// From these on they are the network's.
inline constexpr std::size_t network_pitch_measures = 36;
inline constexpr std::size_t network_silence_measures = 16;

struct MomentMeasures {
    std::vector<PitchMeasures> pitches;  // one for each hypothesis
    SilenceMeasures silence{};
    std::vector<float> timbre;  // log-odds of each hypothesis by the soloist's learned timbre;
                                // empty where he is not known
    float clean = 0.0F;         // 1: one sound alone, here and around; 0: a crowd
};

// Measures of all moments: some compare a moment with those around it. view: what the lead network
// says of them, or nullptr; what it hears outside the register counts as silence. known: where the
// soloist is known for certain; his portrait is then learned there.
std::vector<MomentMeasures> measure(std::span<const Moment> moments, Seconds hop,
                                    const LeadView* view, const PitchGrid& grid,
                                    KnownPitches known = {});

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
// Fitted by maximum likelihood to generated music (tests/pitch/fit_evidence.cpp): with what the
// network says, and without.
const EvidenceModel& fitted_model(bool with_network);

// Evidence for the path: probabilities of the hypotheses and of silence, softened by `trust`, since
// neighbouring moments share most of their sound.
std::vector<FrameEvidence> weigh(std::span<const Moment> moments,
                                 std::span<const MomentMeasures> measures,
                                 const EvidenceModel& model, const PitchGrid& grid, double trust);

}  // namespace bentline
