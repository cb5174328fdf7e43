// The pitch line of a solo: what the tracker hands to everything downstream.
#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <vector>

#include "engine/units.h"

namespace bentline {

// A pitch that was weighed and found less likely.
struct Rival {
    Hertz f0{0.0};
    double probability = 0.0;  // 0 to 1: posterior of its neighbourhood; 0: there is none
};

// One point of the line, at the middle of its analysis frame.
struct PitchPoint {
    std::optional<Hertz> f0;  // as sounding in the recording; empty where there is no lead
    double confidence = 0.0;  // 0 to 1: probability that f0 is right within 50 cents (or that
                              // there is no lead, where f0 is empty)
    Decibels level{-120.0};   // level of the followed sound around this point, dB re full scale,
                              // never below -120
    std::optional<Hertz> leaning;   // best guess of the pitch where the voicing says "no lead", for
                                    // drawing and for mending; never counted as lead
    std::array<Rival, 2> rivals{};  // the likeliest other pitches, likeliest first
};

// points[i] lies at time start + i * hop (recording time). Default hop 5 ms: two points for each
// row of the machine-readable curve, fine enough for notes of 30 ms.
struct PitchCurve {
    Seconds start;
    Seconds hop{0.005};
    std::vector<PitchPoint> points;
    Cents tuning;  // how far the whole recording lies from A4 = 440 Hz; positive: sharp

    Seconds time_of(std::size_t i) const { return start + hop * static_cast<double>(i); }
    Seconds end() const { return time_of(points.size()); }
};

}  // namespace bentline
