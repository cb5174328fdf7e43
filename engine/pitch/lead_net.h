// Which pitch of each moment is the soloist's? A small network that has seen many bands answers.
//
// It looks at a sound map. A layer over small patches finds what partials look like; one over the
// places of each pitch's partials gathers them (harmonic stacking: Bittner et al. 2017, "Deep
// salience representations for F0 estimation in polyphonic music", but on one map, shifted); three
// residual blocks compare neighbours in pitch, octave and time. From the pitches that are then
// likely, within 4 s, it forms a likeness of the lead (place, colour, manner), and weighs every
// pitch once more by how it fits. Trained by tests/corpus/training on made music only.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "engine/pitch/path_hints.h"
#include "engine/pitch/sound_map.h"
#include "engine/result.h"
#include "engine/units.h"
#include "engine/work.h"

namespace bentline {

// The pitches that it knows: a third of a semitone apart from A#1 on.
inline constexpr std::size_t lead_pitches = 180;
inline constexpr std::size_t lead_lowest_bin = 36;  // of the map
inline constexpr Pitch lead_lowest{34.0};
inline constexpr Pitch lead_highest{93.6};

// What the network says, every map_hop.
struct LeadView {
    static constexpr std::size_t row = lead_pitches + 1;
    std::size_t frames = 0;
    // By frame: the chance that the lead sounds at each bin; last: that he rests. They sum to 1.
    std::vector<float> chances;

    // The chance that he sounds within half a semitone of a pitch (0 for one that it does not
    // know), that he rests, and that he sounds beyond `low` to `high`; between moments along a
    // straight line. Need frames > 0.
    double sounds(Seconds since_start, Pitch p) const;
    double rests(Seconds since_start) const;
    double sounds_outside(Seconds since_start, Pitch low, Pitch high) const;
    // The likeliest pitches of a moment, each a local maximum with a chance of at least `least`.
    std::vector<Pitch> likely(Seconds since_start, double least) const;
};

// Sizes of the layers, and all their parameters in the order in which lead_net.cpp reads them.
struct LeadNet {
    std::size_t width = 0;     // features of a pitch
    std::size_t detail = 0;    // features of a bin of the map
    std::size_t likeness = 0;  // features of the lead's likeness
    std::size_t context = 0;   // features of a moment
    std::span<const float> parameters;

    std::size_t parameters_needed() const;
};
const LeadNet& trained_lead_net();

// How many frames a recording of `duration` has.
std::size_t lead_frames(Seconds duration);

// What the trained network says of a signal whose first moment lies at frame `margin`. known: where
// the lead is known for certain, by frame, or nothing; its likeness is then taken from there first,
// for the whole recording. Fails only when stopped. Deterministic. [worker]
Result<LeadView> view_lead(const WorkingSignal& sound, std::size_t margin, Seconds duration,
                           KnownPitches known, const Work& work);

// The same of any map by any network. Fails only when stopped. net.parameters holds
// parameters_needed() values. Deterministic. [worker]
Result<LeadView> view_lead(const SoundMap& map, const LeadNet& net, KnownPitches known,
                           const Work& work);

}  // namespace bentline
