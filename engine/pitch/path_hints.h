// What is already known about the line, in the tracker's own terms: where the soloist sounds for
// certain or very likely, and what is not he.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "engine/pitch/pitch_path.h"
#include "engine/units.h"

namespace bentline {

struct PathHints {
    // The lead sounds throughout the span, somewhere between two sounding pitches.
    struct Sounding {
        SecondsRange span;
        Pitch lowest;
        Pitch highest;
        // A person says so: nothing else is possible, and what sounds there is the soloist. Else it
        // is a strong opinion that the sound may still overrule.
        bool certain = true;
    };
    // What sounds between two pitches within the span is somebody else.
    struct Other {
        SecondsRange span;
        Pitch lowest;
        Pitch highest;
    };
    std::vector<Sounding> sounding;
    std::vector<Other> others;
    std::optional<Cents> tuning;  // of the recording, where it is known already

    bool empty() const { return sounding.empty() && others.empty() && !tuning; }
};

// Where the soloist is known: between which pitches he sounds at each moment. As many as moments,
// or none at all.
using KnownPitches = std::span<const std::optional<Range<Pitch>>>;

// For each of `count` moments, the first at `start`: where the lead is known for certain, between
// which pitches. [any]
std::vector<std::optional<Range<Pitch>>> certain_pitches(const PathHints& hints, Seconds start,
                                                         Seconds hop, std::size_t count);

// The evidence once the hints are heeded: certain spans admit only their own pitches and no
// silence; likely ones favour them (twenty to one); others' pitches count a thousandth. [any]
std::vector<FrameEvidence> heeding(std::vector<FrameEvidence> evidence, const PathHints& hints,
                                   const PitchGrid& grid, Seconds start, Seconds hop);

}  // namespace bentline
