// The units of the trade as distinct types, with only the conversions that make sense.
//
// Everything here is a plain value of one number, explicit to make and explicit to read. A sum that
// means nothing (a pitch plus a pitch, seconds plus frames, heard time plus recording time) does
// not compile; tests/units proves it. Ranges are half-open everywhere in Bentline: [from, to).
#pragma once

#include <cmath>
#include <compare>
#include <cstdint>

namespace bentline {

// A quantity that adds to its own kind and scales by plain numbers. Rep is the stored number's
// type.
template <class Tag, class Rep = double>
class Quantity {
  public:
    constexpr Quantity() = default;
    constexpr explicit Quantity(Rep value) : value_(value) {}

    constexpr Rep value() const { return value_; }

    friend constexpr Quantity operator+(Quantity a, Quantity b) {
        return Quantity(a.value_ + b.value_);
    }
    friend constexpr Quantity operator-(Quantity a, Quantity b) {
        return Quantity(a.value_ - b.value_);
    }
    friend constexpr Quantity operator-(Quantity a) { return Quantity(-a.value_); }
    friend constexpr Quantity operator*(Quantity a, Rep k) { return Quantity(a.value_ * k); }
    friend constexpr Quantity operator*(Rep k, Quantity a) { return Quantity(k * a.value_); }
    friend constexpr Quantity operator/(Quantity a, Rep k) { return Quantity(a.value_ / k); }
    friend constexpr double operator/(Quantity a, Quantity b) {
        return static_cast<double>(a.value_) / static_cast<double>(b.value_);
    }
    constexpr Quantity& operator+=(Quantity b) {
        value_ += b.value_;
        return *this;
    }
    constexpr Quantity& operator-=(Quantity b) {
        value_ -= b.value_;
        return *this;
    }
    friend constexpr auto operator<=>(Quantity, Quantity) = default;

  private:
    Rep value_{};
};

// Time in the recording, from its first frame. Also a length of such time.
using Seconds = Quantity<struct SecondsTag>;
// Time as it is heard at a chosen speed: half speed makes one Second two HeardSeconds.
using HeardSeconds = Quantity<struct HeardSecondsTag>;
// Sample frames (one sample of every channel), in a recording or a block.
using Frames = Quantity<struct FramesTag, std::int64_t>;
// A musical interval, 1200 to the octave (Ellis 1885: 1200 * log2(ratio)).
using Cents = Quantity<struct CentsTag>;
// A level or a gain, 20 * log10(amplitude ratio). Levels of audio are relative to full scale.
using Decibels = Quantity<struct DecibelsTag>;

// A frequency. It scales and compares; sums of frequencies mean nothing here.
class Hertz {
  public:
    constexpr Hertz() = default;
    constexpr explicit Hertz(double value) : value_(value) {}
    constexpr double value() const { return value_; }
    friend constexpr Hertz operator*(Hertz a, double k) { return Hertz(a.value_ * k); }
    friend constexpr Hertz operator*(double k, Hertz a) { return a * k; }
    friend constexpr Hertz operator/(Hertz a, double k) { return Hertz(a.value_ / k); }
    friend constexpr double operator/(Hertz a, Hertz b) { return a.value_ / b.value_; }
    friend constexpr auto operator<=>(Hertz, Hertz) = default;

  private:
    double value_{};
};

// Frames per second of a recording or a device.
class SampleRate {
  public:
    constexpr SampleRate() = default;
    constexpr explicit SampleRate(int hz) : hz_(hz) {}
    constexpr int value() const { return hz_; }
    friend constexpr auto operator<=>(SampleRate, SampleRate) = default;

  private:
    int hz_{};
};

// A written pitch: a MIDI key number, 0 to 127, middle C = 60. Steps of it are semitones.
class MidiKey {
  public:
    constexpr MidiKey() = default;
    constexpr explicit MidiKey(int number) : number_(number) {}
    constexpr int value() const { return number_; }
    friend constexpr auto operator<=>(MidiKey, MidiKey) = default;

  private:
    int number_{};
};

// A sounding pitch: a fractional MIDI number, A4 = 69. A position, not a distance: pitches do not
// add; their difference is Cents.
class Pitch {
  public:
    constexpr Pitch() = default;
    constexpr explicit Pitch(double midi) : midi_(midi) {}
    constexpr explicit Pitch(MidiKey key) : midi_(key.value()) {}
    constexpr double value() const { return midi_; }
    friend constexpr Pitch operator+(Pitch p, Cents c) {
        return Pitch(p.midi_ + c.value() / 100.0);
    }
    friend constexpr Pitch operator-(Pitch p, Cents c) {
        return Pitch(p.midi_ - c.value() / 100.0);
    }
    friend constexpr Cents operator-(Pitch a, Pitch b) {
        return Cents((a.midi_ - b.midi_) * 100.0);
    }
    friend constexpr auto operator<=>(Pitch, Pitch) = default;

  private:
    double midi_{};
};

// Half-open [from, to).
template <class T>
struct Range {
    T from{};
    T to{};
    constexpr bool empty() const { return !(from < to); }
    constexpr bool contains(T t) const { return from <= t && t < to; }
    friend constexpr bool operator==(const Range&, const Range&) = default;
};
using SecondsRange = Range<Seconds>;
using FramesRange = Range<Frames>;

// A4 = 440 Hz (ISO 16).
inline constexpr Hertz concert_a{440.0};
inline constexpr Pitch concert_a_pitch{69.0};

// 1200 * log2(b / a): how far b lies above a. Both > 0.
inline Cents interval(Hertz a, Hertz b) {
    return Cents(1200.0 * std::log2(b / a));
}
// The frequency of a pitch at A4 = 440 Hz, raised by `tuning`.
inline Hertz frequency(Pitch p, Cents tuning = Cents(0)) {
    return concert_a * std::exp2(((p - concert_a_pitch) + tuning).value() / 1200.0);
}
// The pitch of a frequency > 0, after a recording's `tuning` (its offset from A4 = 440 Hz) is taken
// out.
inline Pitch pitch_of(Hertz f, Cents tuning = Cents(0)) {
    return concert_a_pitch + interval(concert_a, f) - tuning;
}
// The nearest written pitch.
inline MidiKey nearest_key(Pitch p) {
    return MidiKey(static_cast<int>(std::lround(p.value())));
}

// Frames to seconds: exact up to rounding of the division. rate > 0.
inline Seconds to_seconds(Frames n, SampleRate rate) {
    return Seconds(static_cast<double>(n.value()) / rate.value());
}
// Seconds to the nearest frame.
inline Frames to_frames(Seconds t, SampleRate rate) {
    return Frames(std::llround(t.value() * rate.value()));
}
// How long a stretch of recording lasts when heard at `speed` (1 = as recorded). speed > 0.
inline HeardSeconds heard(Seconds t, double speed) {
    return HeardSeconds(t.value() / speed);
}
inline Seconds recorded(HeardSeconds t, double speed) {
    return Seconds(t.value() * speed);
}

// Amplitude ratio of a gain, and back. decibels(0) is minus infinity.
inline double amplitude(Decibels d) {
    return std::pow(10.0, d.value() / 20.0);
}
inline Decibels decibels(double amplitude_ratio) {
    return Decibels(20.0 * std::log10(amplitude_ratio));
}

inline namespace literals {
constexpr Seconds operator""_s(long double v) {
    return Seconds(static_cast<double>(v));
}
constexpr Seconds operator""_ms(long double v) {
    return Seconds(static_cast<double>(v) / 1000.0);
}
constexpr Hertz operator""_Hz(long double v) {
    return Hertz(static_cast<double>(v));
}
constexpr Cents operator""_c(long double v) {
    return Cents(static_cast<double>(v));
}
constexpr Decibels operator""_dB(long double v) {
    return Decibels(static_cast<double>(v));
}
constexpr Frames operator""_frames(unsigned long long v) {
    return Frames(static_cast<std::int64_t>(v));
}
}  // namespace literals

}  // namespace bentline
