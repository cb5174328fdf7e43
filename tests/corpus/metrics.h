// Scores of pitch lines and notes by the definitions of mir_eval (Raffel et al. 2014): melody.py
// after Poliner et al. 2007 and Salamon et al. 2014, transcription.py after Bay et al. 2009.
// test_metrics.cpp compares them with the library itself.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <utility>
#include <vector>

#include "engine/units.h"

namespace bentline::corpus {

using PitchRows = std::vector<std::optional<Hertz>>;

// Shares of rows. The rows of truth and estimate lie on one time grid; the longer is cut.
struct MelodyScore {
    double raw_pitch_50 = 0.0;  // of voiced true rows: estimate within 50 cents
    double raw_pitch_25 = 0.0;
    double raw_pitch_10 = 0.0;
    double raw_chroma = 0.0;  // the same at 50 cents, octaves forgiven
    double voicing_recall = 0.0;
    double false_alarm = 0.0;  // of unvoiced true rows: estimate voiced
    double overall = 0.0;      // right pitch within 50 cents, or rightly unvoiced, of all rows
};
MelodyScore score_melody(const PitchRows& truth, const PitchRows& estimate);

// A note as scores see it.
struct ScoredNote {
    Seconds onset;
    Seconds offset;
    Hertz pitch;
};

struct NoteTolerance {
    Seconds onset{0.05};
    Cents pitch{50.0};
    bool offsets =
        false;  // also the ends: within the larger of 50 ms and a fifth of the true length
};

// Pairs (true, estimated), at most one for each note, as many as there can be (Kuhn 1955).
std::vector<std::pair<std::size_t, std::size_t>> match_notes(std::span<const ScoredNote> truth,
                                                             std::span<const ScoredNote> estimate,
                                                             const NoteTolerance& tolerance);

struct Hits {
    double precision = 0.0;
    double recall = 0.0;
    double f1 = 0.0;
};
// 0 where nothing was found or nothing was there, as mir_eval has it.
Hits hits(std::size_t matched, std::size_t of_truth, std::size_t of_estimate);
Hits score_notes(std::span<const ScoredNote> truth, std::span<const ScoredNote> estimate,
                 const NoteTolerance& tolerance);

}  // namespace bentline::corpus
