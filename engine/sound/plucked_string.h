// One plucked string as a digital waveguide: a delay line that is one period long, closed through a
// loss filter.
//
// Karplus & Strong 1983 (the loop); Jaffe & Smith 1983 (tuning, pluck position, decay);
// Karjalainen, Valimaki & Tolonen 1998 (one loop for both directions; a one-pole loss filter fitted
// to decay times; combs for the places of pick and pickup). The fraction of a frame is read with a
// sixth- point Lagrange interpolator, which stays free of transients while the length moves (Laakso
// et al. 1996). The phase delay of the loss filter is taken out of the line, so the pitch is exact.
//
// Accuracy: the pitch lies within string_pitch_error of the one asked for, steady or gliding, keys
// 40 to 88 at 44.1 kHz and above. The decay time of the fundamental lies within string_decay_error
// of decay_time(), the level of a stroke within string_level_error of the one asked for.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "engine/units.h"

namespace bentline {

inline constexpr Cents string_pitch_error{1.0};
inline constexpr double string_decay_error = 0.05;  // share
inline constexpr Decibels string_level_error{2.0};

struct StringSettings {
    // Time to fall by 60 dB of a string's fundamental at 110 Hz; it goes with the square root of
    // the period (common practice, no source).
    Seconds ring{7.0};
    // Share of that for what sounds at `high`: brighter when larger. 0.02 to 1.
    double ring_high = 0.15;
    Hertz high{4000.0};
    // Distance from the bridge, share of the string: pick 0.03 to 0.5, pickup 0.03 to 0.5.
    double picked_at = 0.19;
    double heard_at = 0.13;
    Hertz pick_corner{3200.0};  // of a middling stroke; harder ones are brighter
};

// 60 dB decay time of the fundamental at a frequency, by the settings.
Seconds decay_time(Hertz f, const StringSettings& settings);

class PluckedString {
  public:
    // Allocates; never afterwards. rate: 8 to 384 kHz. [any]
    PluckedString(SampleRate rate, const StringSettings& settings = {});

    // Frequencies are clamped to [lowest(), highest()]. [audio], all of these.
    Hertz lowest() const { return Hertz(20.0); }
    Hertz highest() const { return Hertz(0.22 * rate_); }
    // Silences the string and strikes it. level: RMS of the first 20 ms, dB re full scale; hard: 1
    // middling, more is brighter; grain: seed of the pick's scrape (2 ms of noise), any value:
    // equal ones sound equal.
    void strike(Hertz f, Decibels level, double hard, std::uint32_t grain);
    // The pitch `frames` frames from now; it moves there evenly.
    void steer(Hertz f, int frames);
    // The level moves by this factor over `length`.
    void swell(double factor, Seconds length);
    // From here on falls by 60 dB in `length`, as under a finger.
    void damp(Seconds length);
    double next();
    bool silent() const { return !sounding_; }
    Hertz frequency_now() const { return now_; }
    // Sounds on as `other` does; both of one rate. Copies, never allocates.
    void copy_sound(const PluckedString& other) { *this = other; }

  private:
    struct Loop {
        double pole = 0.0;
        double gain = 0.0;
        double line = 4.0;  // frames of delay line
    };
    Loop loop_for(Hertz f) const;
    double unit_level(Hertz f, double corner, double heard_at) const;
    double excitation();
    double read(double back) const;

    double rate_;
    StringSettings settings_;
    std::vector<double> line_;  // a ring of a power of two
    std::size_t mask_;
    std::size_t at_ = 0;  // where the next frame is written

    bool sounding_ = false;
    Hertz now_{110.0};
    Loop loop_;
    Loop step_;  // a frame's change of loop_
    int steps_ = 0;
    double filter_ = 0.0;
    std::size_t pickup_ = 1;  // frames of the pickup's comb

    double pulse_ = 0.0;       // height
    double pulse_left_ = 0.0;  // frames
    double noise_ = 0.0;
    int noise_left_ = 0;
    std::uint32_t grain_ = 1;
    double soft_a_ = 0.0;  // the pick's lowpass
    double soft_b_ = 0.0;
    double soft_ = 0.5;

    double gain_ = 1.0;
    double gain_step_ = 1.0;
    int gain_left_ = 0;
    double fall_ = 1.0;  // a frame's factor while damped
    double hand_ = 1.0;
    double loudest_ = 0.0;  // a falling bound of what sounds
    int quiet_ = 0;
};

}  // namespace bentline
