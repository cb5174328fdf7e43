// YIN's difference function and the likely periods in it.
//
// de Cheveigne & Kawahara (2002), "YIN, a fundamental frequency estimator for speech and music",
// equation 6: d(lag) = sum over t of (x(t) - x(t + lag))^2. Candidates and their probabilities as
// in Mauch & Dixon (2014), "pYIN", section 2.1, in closed form: the chance that a dip is the first
// one below a threshold drawn from a Beta distribution.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace bentline {

// d(lag) summed over `window` samples from x[0]; x holds at least window + lag samples. For a sine
// of amplitude A and a whole-period window: window * A^2 * (1 - cos(2 pi lag / period)).
double difference(std::span<const float> x, std::size_t window, std::size_t lag);

// A period that may be the sound's.
struct PeriodCandidate {
    double period = 0.0;  // samples, to a small part of one
    double aperiodicity =
        1.0;  // difference over twice the power at this period: 0 periodic, about 1 noise
    double probability = 0.0;  // of being the one; all of a frame's sum to at most 1
};

// Lags to search and windows to use, in samples.
struct LagSearch {
    std::size_t shortest = 8;           // shortest period, at least 2
    std::size_t longest = 300;          // longest period
    double window_periods = 2.0;        // integration window in periods of the lag tried …
    std::size_t shortest_window = 200;  // … but never shorter than this
};

// The window of a lag.
std::size_t window_of(const LagSearch& search, std::size_t lag);
// How many samples around the middle the search reads, on each side.
std::size_t reach(const LagSearch& search);

// What the difference function says about one moment.
struct PeriodEvidence {
    std::vector<PeriodCandidate> candidates;  // most probable first
    std::size_t first_lag = 0;
    std::vector<float> curve;  // aperiodicity of lags first_lag, first_lag + 1, …; empty: silence

    // Aperiodicity at any period, between lags by a straight line; 1 outside the curve.
    double aperiodicity(double period) const;
};

// The periods of the sound around signal[middle], each window centred on it. The signal must reach
// `reach` samples to both sides. Periods come out to about a cent for harmonic sounds. [any]
PeriodEvidence period_evidence(std::span<const float> signal, std::size_t middle,
                               const LagSearch& search);

// The dip nearest to `period` (within half a semitone); empty where there is none or the signal
// does not reach far enough.
std::optional<PeriodCandidate> period_near(std::span<const float> signal, std::size_t middle,
                                           double period, const LagSearch& search);

}  // namespace bentline
