// Which tempo a band plays: candidates by self-likeness, the octave by where it strikes.
#pragma once

#include <vector>

#include "engine/bars/beat_path.h"
#include "engine/bars/beats.h"
#include "engine/bars/onset_strength.h"

namespace bentline {

// What speaks for and against a row of beats being the beat.
struct TempoEvidence {
    Tempo tempo;         // the median beat's
    double on = 0.0;     // mean strength on the beats, unit: the strength's own
    double half = 0.0;   // half way between
    double third = 0.0;  // at a third, and
    double two_thirds = 0.0;
    double quarter = 0.0;     // at one and three quarters
    double low_on = 0.0;      // the bass on the beats
    double pickup = 0.0;      // bass notes half a beat before one on the beat, less those after it
    double uneven = 0.0;      // difference of every other beat, all bands
    double low_uneven = 0.0;  // the same of the bass
    double harmony = 0.0;     // change of harmony at the beats, less that half way between
    double usual = 0.0;       // log of how usual the tempo is; 0 for the most usual
    double score = 0.0;       // their weighted sum
};

struct TempoCandidate {
    BeatPath path;
    TempoEvidence evidence;
};

// The strongest periods of the strength, and their halves, doubles and thirds, within the range;
// each with its best row of beats. Best first.
std::vector<TempoCandidate> tempo_candidates(const OnsetStrength& strength,
                                             const ChromaReader& chroma,
                                             Range<std::size_t> sounding,
                                             const BeatSettings& settings);

// Mean of a strength at a share of the way from each beat to the next, blurred by a frame either
// side.
double mean_at(const std::vector<float>& strength, const std::vector<double>& beats, double share);

}  // namespace bentline
