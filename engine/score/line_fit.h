// Swing, lateness and places of a line, fitted together. Inner part of quantise.h.
//
// The swing and the lateness for which the cheapest path over the grids is cheapest of all, both
// weighed against what is usual. Accuracy: on lines of 16 bars with swing from 1.5:1 to 3:1 and
// onsets that stray by 25 ms, the ratio is off by swing_error on average.
#pragma once

#include <vector>

#include "engine/score/grid_path.h"
#include "engine/score/quantise.h"

namespace bentline {

// Mean error of the ratio, as a share of it.
inline constexpr double swing_error = 0.05;

struct LineFit {
    double off_beat = 0.5;          // of the line as a whole: where the swung eighth falls
    std::vector<double> off_beats;  // [pulse] the same, where sections differ
    Seconds late;
    GridPath path;
};

LineFit fit_line(const std::vector<Note>& notes, const std::vector<Pulse>& pulses,
                 const QuantiseSettings& settings);

// Long : short of an off-beat's place in the beat.
double swing_ratio(double off_beat);

// Where the ratio changes; one entry at least. swung: whether there are off-beats at all.
std::vector<SwingFrom> swing_changes(const std::vector<Pulse>& pulses, const LineFit& fit,
                                     bool swung);

}  // namespace bentline
