// Models of how a pitch moves, fitted to the fine line and compared: a slide that steps from fret
// to fret, a string that is pushed smoothly, a hand that shakes.
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "engine/notes/fine_line.h"
#include "engine/notes/note_settings.h"

namespace bentline::notes {

// A move from one pitch to another, points [from, to) with some of the rest at either end.
struct MoveFit {
    double stepped_odds = 0.0;  // natural log-odds that it stepped rather than rose smoothly, +-20
    int steps = 0;              // semitone steps of the stepped model
    double stepped_from = 0.0;  // cents: the frets that the stepped model joins
    double stepped_to = 0.0;
    double smooth_start = 0.0;  // seconds: where the smooth model leaves the first pitch
    double smooth_end = 0.0;    // seconds: where it reaches the second
    double first_step = 0.0;    // seconds: the stepped model's first and last jump
    double last_step = 0.0;
};

// A pitch at one end of a move, as far as it is known.
struct MoveEnd {
    double cents = 0.0;
    double held = 0.0;  // seconds that it was held; what was hardly held is hardly known
};

// Smooth: a raised cosine, its two ends free; a hand takes 70 ms for it, hardly ever less. Stepped:
// a jump for each semitone, each time free, blurred over the line's own window. A fretted string
// sounds whole semitones away from the end that was held longer; where the other end was hardly
// held, one more or one fewer of them is tried. Compared by their weighted misfit with the Bayesian
// information criterion's cost for each free number (Schwarz 1978). from < to.
MoveFit compare_move(const FineLine& line, const std::vector<double>& weights, std::size_t from,
                     std::size_t to, const MoveEnd& first, const MoveEnd& second,
                     const NoteSettings& settings);

// How far a smooth move of known ends (seconds) rises, in cents, by least squares over the move and
// 60 ms before and 80 ms after it, within points [from, to). A string's pitch drifts while it
// rings: near the move there is least of that. Empty where fewer than six independent readings lie
// there.
std::optional<double> smooth_rise(const FineLine& line, const std::vector<double>& weights,
                                  std::size_t from, std::size_t to, double start, double end);

struct VibratoFit {
    double rate = 0.0;   // Hz
    double depth = 0.0;  // cents, peak from centre, the line's own smoothing undone
    double share = 0.0;  // 0 to 1: of the detrended line's variance
    double cycles = 0.0;
    std::size_t from = 0;  // points of the line
    std::size_t to = 0;
};

// Least squares of a constant, a slope and a sinusoid over points [from, to), the rate searched
// between the settings' bounds. Empty where there are too few points.
std::optional<VibratoFit> fit_vibrato(const FineLine& line, const std::vector<double>& weights,
                                      std::size_t from, std::size_t to,
                                      const NoteSettings& settings);

}  // namespace bentline::notes
