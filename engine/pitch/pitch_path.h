// The most probable line through every frame's hypotheses: a hidden Markov model over a fine pitch
// grid with a voicing state.
//
// After Mauch & Dixon (2014), "pYIN", section 2.2 (Viterbi decoding over a pitch grid with voiced
// and unvoiced states), with two changes: notes may leap (any pitch to any other at a price), since
// a plucked line does, and one unvoiced state serves for all pitches.
#pragma once

#include <array>
#include <cstddef>
#include <limits>
#include <span>
#include <vector>

#include "engine/result.h"
#include "engine/units.h"
#include "engine/work.h"

namespace bentline {

// Equally spaced pitches: bin b is lowest + b * step.
struct PitchGrid {
    Pitch lowest{39.0};
    Cents step{10.0};
    std::size_t bins = 0;

    Pitch pitch(std::size_t bin) const { return lowest + step * static_cast<double>(bin); }
    // The nearest bin; bins if it lies outside.
    std::size_t bin_of(Pitch p) const;
};

// How a line moves from frame to frame. Probabilities are a frame's (5 ms).
struct PathSettings {
    // A sounding pitch glides: triangular over this many cents a frame on each side. A slide of
    // five semitones in 60 ms needs 42.
    Cents widest_glide{70.0};
    double leap = 0.02;         // another note begins, no rest between
    double fall_silent = 0.03;  // the note ends and no other begins
    double begin = 0.03;        // a note begins after a rest
};

// One frame's hypotheses: likelihoods of the pitches heard (sparse) and of no lead at all.
struct FrameEvidence {
    struct At {
        std::size_t bin;
        float likelihood;
    };
    std::vector<At> heard;
    float silent = 1.0F;     // likelihood of no lead
    float anywhere = 1e-4F;  // likelihood of each pitch that is not listed
    // Pitches outside these bins are out of the question.
    std::size_t first_bin = 0;
    std::size_t end_bin = std::numeric_limits<std::size_t>::max();
};

struct PathPoint {
    std::size_t bin = 0;  // meaningful where voiced
    bool voiced = false;
    double probability = 0.0;  // posterior of this bin's neighbourhood (within half a semitone), or
                               // of no lead where unvoiced
    // The likeliest bins more than half a semitone away, with the posterior of their neighbourhood.
    struct Other {
        std::size_t bin = 0;
        double probability = 0.0;
    };
    std::array<Other, 2> others{};
};

// The most probable path (Viterbi) and, at each point of it, its posterior (forward-backward).
// Fails only when stopped. [worker]
Result<std::vector<PathPoint>> most_probable_path(const PitchGrid& grid,
                                                  std::span<const FrameEvidence> frames,
                                                  const PathSettings& settings, const Work& work);

}  // namespace bentline
