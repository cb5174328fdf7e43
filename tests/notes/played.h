// Short solos made of plucked strings whose pitch is known exactly, with the pitch line that a good
// tracker would hand over.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <functional>
#include <optional>
#include <utility>
#include <vector>

#include "engine/notes/find_notes.h"
#include "engine/pitch/curve.h"
#include "tests/support/tones.h"

namespace bentline::testing {

// Cents above the struck key, by seconds since the pluck.
using Bending = std::function<double(double)>;

// 0 before `from`, 1 after `to`, a raised cosine between: how a finger pushes a string.
inline double smoothly(double t, double from, double to) {
    const double x = std::clamp((t - from) / (to - from), 0.0, 1.0);
    return 0.5 - 0.5 * std::cos(std::numbers::pi * x);
}
// Whole semitones one after another, the first step at `from`, `each` seconds apart; each is
// crossed in 4 ms.
inline double frets(double t, double from, double each, int count) {
    double done = 0.0;
    for (int i = 0; i < std::abs(count); ++i) {
        done += std::clamp((t - from - i * each) / 0.004, 0.0, 1.0);
    }
    return 100.0 * (count < 0 ? -done : done);
}

class Played {
  public:
    explicit Played(Seconds length, SampleRate rate = SampleRate(44100))
        : rate_(rate), length_(length), mono_(floor_noise(length, rate)) {}

    // Strikes `key` and lets it ring for `ring`; the string's pitch follows `bending`. Peak `peak`.
    Played& strike(double at, int key, double ring, const Bending& bending = {},
                   double peak = 0.3) {
        StringSound sound;
        sound.peak = peak;
        const Line line = [=](Seconds t) {
            return frequency(Pitch(key) + Cents(bending ? bending(t.value()) : 0.0));
        };
        mix_in(mono_, plucked(line, Seconds(ring), rate_, sound), Seconds(at), rate_);
        strokes_.push_back({at, ring, line});
        return *this;
    }

    // Sound that is not the lead's: somebody else's string, or hiss.
    Played& accompany(double at, int key, double ring, double peak) {
        StringSound sound;
        sound.peak = peak;
        mix_in(mono_, plucked(steady(frequency(Pitch(key))), Seconds(ring), rate_, sound),
               Seconds(at), rate_);
        return *this;
    }
    Played& hiss(Decibels level, std::uint64_t seed) {
        mix_in(mono_, noise(level, length_, rate_, seed), Seconds(0.0), rate_);
        return *this;
    }

    Audio audio() const {
        std::vector<float> cut = mono_;
        cut.resize(sample_count(length_, rate_), 0.0F);
        return audio_of(std::move(cut), rate_);
    }

    // The true pitch as a tracker sees it: the mean over `blur` ms of whatever sounds there, 5 ms
    // apart.
    PitchCurve curve(int blur = 24) const {
        PitchCurve curve;
        const auto count = static_cast<std::size_t>(length_.value() / curve.hop.value());
        for (std::size_t i = 0; i < count; ++i) {
            const double time = curve.time_of(i).value();
            PitchPoint p;
            p.confidence = 0.9;
            double sum = 0.0;
            int n = 0;
            for (int k = -6; k <= 6; ++k) {
                if (const auto f = sounding(time + 0.001 / 12.0 * blur * k)) {
                    sum += std::log2(f->value());
                    ++n;
                }
            }
            if (sounding(time)) {
                p.f0 = Hertz(std::exp2(sum / n));
                p.confidence = 0.95;
                p.level = level(time);
            }
            curve.points.push_back(p);
        }
        return curve;
    }

    std::vector<Note> notes(int blur = 24) const {
        auto found = find_notes(audio(), curve(blur), Focus{});
        return found.ok() ? found.value() : std::vector<Note>{};
    }

  private:
    struct Stroke {
        double at;
        double ring;
        Line line;
    };
    std::optional<Hertz> sounding(double time) const {
        for (auto s = strokes_.rbegin(); s != strokes_.rend(); ++s) {
            if (time >= s->at && time < s->at + s->ring) return s->line(Seconds(time - s->at));
        }
        return std::nullopt;
    }
    Decibels level(double time) const {
        const auto middle = static_cast<std::ptrdiff_t>(time * rate_.value());
        double sum = 1e-12;
        for (std::ptrdiff_t i = middle - 220; i < middle + 220; ++i) {
            if (i < 0 || i >= static_cast<std::ptrdiff_t>(mono_.size())) continue;
            const double x = static_cast<double>(mono_[static_cast<std::size_t>(i)]);
            sum += x * x / 440.0;
        }
        return Decibels(std::max(-120.0, 10.0 * std::log10(sum)));
    }

    SampleRate rate_;
    Seconds length_;
    std::vector<float> mono_;
    std::vector<Stroke> strokes_;
};

}  // namespace bentline::testing
