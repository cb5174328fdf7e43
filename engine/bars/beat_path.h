// The best row of beats through an onset strength, near one tempo.
//
// Dynamic programming over beat times and beat lengths together (Ellis 2007, "Beat tracking by
// dynamic programming", with the length as part of the state as in Krebs, Böck & Widmer 2015): the
// sum of the strength on the beats, less a penalty for each change of length, which lets the tempo
// breathe.
#pragma once

#include <optional>
#include <vector>

#include "engine/bars/metre.h"
#include "engine/bars/onset_strength.h"

namespace bentline {

struct PathSettings {
    // How far the tempo may wander from the given one, as a share. A drift of 8 % either way, and a
    // tempo that was guessed a little off.
    double wander = 0.18;
    // Usual change of length from beat to beat, as a share: players' unevenness (3 % and less:
    // common practice, no source).
    double unevenness = 0.03;
};

struct BeatPath {
    std::vector<double> frames;  // of the beats, between frames where the strength says so
    double score = 0.0;          // mean strength on the beats, less the mean strength anywhere
};

// Empty where the sound is shorter than two beats.
BeatPath beat_path(const std::vector<float>& strength, Range<std::size_t> sounding, Tempo tempo,
                   const PathSettings& settings = {});

}  // namespace bentline
