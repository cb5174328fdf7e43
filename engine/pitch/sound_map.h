// The sound as a map: how loud each third of a semitone is, how far it stands out, and where on the
// stage it lies, every 20 ms. What the lead network looks at.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "engine/pitch/front_end.h"
#include "engine/result.h"
#include "engine/units.h"
#include "engine/work.h"

namespace bentline {

inline constexpr Seconds map_hop{0.020};
inline constexpr std::size_t map_per_semitone = 3;
// Bin k lies at this pitch plus k thirds of a semitone: A#0, below every guitar's lowest note by an
// octave, to E8, above 5 kHz.
inline constexpr Pitch map_lowest{22.0};
inline constexpr std::size_t map_bins = 270;
// Loudness: 60 dB under the usual level of the 4 s around it is 0, that level 1; at least 0, at
// most 1.25. Relief: dB over the mean of an octave and a half around it, over 20, from -1 to 2.
// Place: -1 left to 1 right (difference of the channels' powers over their sum), times loudness; 0
// in mono.
enum MapPlane : std::size_t { map_loudness, map_relief, map_place, map_planes };

struct SoundMap {
    std::size_t frames = 0;
    std::vector<float> values;  // by frame, then plane, then bin

    std::span<const float> plane(std::size_t frame, MapPlane which) const {
        return std::span(values).subspan((frame * map_planes + which) * map_bins, map_bins);
    }
};

// The map of `sound`, whose first moment lies at frame `margin`: `frames` moments at multiples of
// map_hop. Spectra under a Hann window of 93 ms; beyond the signal's ends is silence. Where the
// focus takes in a part of the stage, what lies elsewhere is faded. Fails only when stopped.
// Deterministic. [worker]
Result<SoundMap> sound_map(const WorkingSignal& sound, std::size_t margin, std::size_t frames,
                           const Work& work);

}  // namespace bentline
