// Peak of the last 0.1 s and rms of the last 0.3 s of the output.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>

#include "engine/units.h"

namespace bentline {

class Meter {
  public:
    explicit Meter(SampleRate rate) : slot_frames_(std::max(1, rate.value() / 100)) {}

    void add(float left, float right) {  // [audio]
        Slot& s = slots_[at_];
        s.peak = std::max({s.peak, std::abs(left), std::abs(right)});
        s.square += 0.5 * (static_cast<double>(left) * left + static_cast<double>(right) * right);
        if (++s.frames < slot_frames_) return;
        at_ = (at_ + 1) % slots_.size();
        slots_[at_] = {};
    }
    Decibels peak() const {
        float p = 0.0F;
        for (std::size_t i = 0; i < peak_slots; ++i) {
            p = std::max(p, slots_[(at_ + slots_.size() - i) % slots_.size()].peak);
        }
        return decibels(std::max(1e-10, static_cast<double>(p)));
    }
    Decibels rms() const {
        double sum = 0.0;
        std::int64_t n = 0;
        for (const Slot& s : slots_) {
            sum += s.square;
            n += s.frames;
        }
        return decibels(
            std::max(1e-10, std::sqrt(sum / static_cast<double>(std::max<std::int64_t>(n, 1)))));
    }

  private:
    struct Slot {
        float peak = 0.0F;
        double square = 0.0;
        int frames = 0;
    };
    static constexpr std::size_t peak_slots = 10;
    int slot_frames_;
    std::array<Slot, 30> slots_{};
    std::size_t at_ = 0;
};

}  // namespace bentline
