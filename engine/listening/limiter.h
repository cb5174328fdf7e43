// A look-ahead limiter that holds the true peak below a ceiling: the last thing before the ear.
//
// The peak between the samples is found at four times the rate, with 12 taps a phase as in
// ITU-R BS.1770-4, annex 2 (own coefficients: a windowed sinc). The gain is the least that the next
// 1.5 ms need, smoothed over as long; it comes back in about 60 ms. Below the ceiling the samples
// pass unchanged, only delayed. Stated accuracy: the true peak exceeds the ceiling by no more than
// 0.3 dB.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "engine/units.h"

namespace bentline {

struct LimiterSettings {
    Decibels ceiling{-1.0};  // dBTP; EBU R 128 allows -1
    Seconds ahead{0.0015};   // look-ahead and attack
    Seconds release{0.06};   // time constant back to 0 dB
};

class Limiter {
  public:
    explicit Limiter(SampleRate rate, const LimiterSettings& settings = {});  // allocates [any]

    // One frame of two channels in; the frame from delay() frames ago out. [audio]
    std::array<float, 2> next(std::array<float, 2> in);
    Frames delay() const { return Frames(delay_); }
    // Gain applied to the last frame. [audio]
    double gain() const { return gain_; }

  private:
    float true_peak(std::array<float, 2> in);

    static constexpr int taps = 12;
    static constexpr int phases = 4;
    static constexpr std::int64_t unity = std::int64_t{1}
                                          << 30;  // gains in fixed point: sums are exact

    float ceiling_;
    std::int64_t ahead_;
    std::int64_t delay_;
    double release_;
    std::array<std::array<float, taps>, phases> fir_{};
    std::array<std::array<float, std::size_t{2} * taps>, 2> recent_{};  // newest taps, twice over
    int recent_at_ = 0;
    std::vector<std::array<float, 2>> line_;
    std::size_t line_at_ = 0;
    // Least gain of the look-ahead: a queue whose gains only rise.
    struct Held {
        std::int64_t frame;
        std::int64_t gain;
    };
    std::vector<Held> least_;
    std::size_t least_first_ = 0;
    std::size_t least_count_ = 0;
    std::vector<std::int64_t> smooth_;
    std::size_t smooth_at_ = 0;
    std::int64_t smooth_sum_;
    std::int64_t released_ = unity;
    std::int64_t frame_ = 0;
    double gain_ = 1.0;
};

}  // namespace bentline
