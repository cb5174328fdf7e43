// The level of the sound at a fine grain: whole, and above 3 kHz where picks and fingers speak.
#pragma once

#include <cstddef>
#include <vector>

#include "engine/notes/lead_signal.h"

namespace bentline::notes {

// Block energies of 1 ms, read as levels and rises. Times are seconds of the recording; outside the
// signal there is silence. [any]
class Envelopes {
  public:
    explicit Envelopes(const LeadSignal& lead);

    // Level over 10 ms around a time, dB re full scale (a full-scale sine is 0), never below -120.
    double level(double seconds) const;
    // The 6 ms from a time on against the 15 ms before it, dB; 0 in silence.
    double level_rise(double seconds) const;
    double burst_rise(double seconds) const;
    // Where the attack near a rough time (within 20 ms) begins to rise.
    double attack_start(double rough) const;

  private:
    double mean(const std::vector<double>& sums, std::ptrdiff_t from, std::ptrdiff_t to) const;
    std::ptrdiff_t block(double seconds) const;
    double rise(const std::vector<double>& sums, double seconds) const;

    double start_ = 0.0;
    double block_seconds_ = 0.001;
    std::vector<double> whole_;  // running sums of mean squares, one a block, first 0
    std::vector<double> high_;
};

}  // namespace bentline::notes
