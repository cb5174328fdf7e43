// Rhythm from a few beat patterns, pitches from a walk over a scale.
#include "tests/corpus/rhythm.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <span>

namespace bentline::corpus {

namespace {

using testing::Dice;

enum class Feel { swing, straight, triplets, mixed };

// Shares of one or two beats.
std::vector<double> beat_pattern(Dice& dice, Feel feel, double swing, double beat) {
    const double busy = dice.unit();
    if (busy < 0.16) return {1.0};
    if (busy < 0.38) return {2.0};
    if (busy < 0.45) return {1.5, 0.5};
    if (busy < 0.51) return {3.0};
    if (busy < 0.57 && beat < 0.4) return {4.0};
    Feel now = feel;
    if (feel == Feel::mixed) now = static_cast<Feel>(dice.whole(0, 2));
    switch (now) {
        case Feel::swing:
            return {swing, 1.0 - swing};
        case Feel::triplets:
            if (beat / 3.0 > 0.085) return {1.0 / 3, 1.0 / 3, 1.0 / 3};
            return {0.5, 0.5};
        default:
            if (beat / 4.0 > 0.085 && dice.chance(0.45)) return {0.25, 0.25, 0.25, 0.25};
            return {0.5, 0.5};
    }
}

constexpr std::array<std::array<int, 7>, 5> scales = {{{0, 2, 4, 5, 7, 9, 10},
                                                       {0, 2, 3, 5, 7, 9, 10},
                                                       {0, 2, 4, 6, 7, 9, 11},
                                                       {0, 3, 5, 6, 7, 10, 12},
                                                       {0, 1, 4, 5, 7, 8, 10}}};

// Walks up and down a scale, now and then by leap, chromatically or on the spot.
class Walk {
  public:
    Walk(Dice& dice, MidiKey low, MidiKey high) : low_(low.value()), high_(high.value()) {
        tonic_ = dice.whole(0, 11);
        scale_ = scales[static_cast<std::size_t>(dice.whole(0, 4))];
        now_ = near(dice.whole(low_ + 3, high_ - 3));
        direction_ = dice.chance(0.5) ? 1 : -1;
    }
    MidiKey step(Dice& dice) {
        if (again_ > 0) {
            --again_;
            return MidiKey(now_);
        }
        const double what = dice.unit();
        if (what < 0.06) {
            again_ = dice.whole(0, 2);
            return MidiKey(now_);
        }
        if (dice.chance(0.28)) direction_ = -direction_;
        if (what < 0.16) {
            now_ += direction_;
        } else if (what < 0.70) {
            now_ = along(1);
        } else if (what < 0.88) {
            now_ = along(2);
        } else {
            now_ = along(dice.whole(3, 6));
        }
        keep_inside();
        return MidiKey(now_);
    }
    // The way in which `thirds` thirds fit the register; `wanted` where both do.
    int way_with_room(int thirds, int wanted) const {
        const int span = 4 * thirds;
        if (now_ + wanted * span > high_ || now_ + wanted * span < low_) return -wanted;
        return wanted;
    }
    // The next note of an arpeggio.
    MidiKey third(int direction) {
        direction_ = direction;
        now_ = along(2);
        keep_inside();
        return MidiKey(now_);
    }

    int tonic() const { return tonic_; }
    const std::array<int, 7>& scale() const { return scale_; }

  private:
    bool in_scale(int key) const {
        const int degree = ((key - tonic_) % 12 + 12) % 12;
        return std::find(scale_.begin(), scale_.end(), degree) != scale_.end();
    }
    int near(int key) const {
        while (!in_scale(key))
            ++key;
        return key;
    }
    int along(int degrees) const {
        int key = now_;
        for (int i = 0; i < degrees; ++i) {
            do
                key += direction_;
            while (!in_scale(key));
        }
        return key;
    }
    void keep_inside() {
        if (now_ > high_) {
            now_ = near(high_ - 4);
            direction_ = -1;
        } else if (now_ < low_) {
            now_ = near(low_ + 3);
            direction_ = 1;
        }
    }

    int low_, high_;
    int tonic_ = 0;
    std::array<int, 7> scale_{};
    int now_ = 60;
    int direction_ = 1;
    int again_ = 0;
};

}  // namespace

Lines write_slots(Dice& dice, const PhraseSettings& settings) {
    Lines lines;
    lines.beats_per_minute = dice.between(90.0, 220.0);
    const double beat = 60.0 / lines.beats_per_minute;
    const auto feel = static_cast<Feel>(dice.whole(0, 3));
    const double swing = dice.between(0.54, 0.68);
    const double loose = dice.between(0.0, 0.007);

    const int reach = dice.whole(17, 24);
    const int top = std::max(settings.lowest.value() + 1, settings.highest.value() - reach);
    const int low = dice.whole(settings.lowest.value(), top);
    Walk walk(dice, MidiKey(low), MidiKey(std::min(settings.highest.value(), low + reach)));

    double t = dice.between(0.15, 0.6);
    lines.first_beat = Seconds(t);
    lines.tonic = walk.tonic();
    lines.scale.assign(walk.scale().begin(), walk.scale().end());
    const double end = settings.length.value() - 0.5;
    while (t < end) {
        for (double share : beat_pattern(dice, feel, swing, beat)) {
            Slot slot;
            slot.at = Seconds(t);
            slot.length = Seconds(share * beat);
            slot.key = walk.step(dice);
            // Only a slot with room before it rests, so that an unmarked note is not clipped short.
            const bool room = !lines.slots.empty() && !lines.slots.back().rest &&
                              lines.slots.back().length > Seconds(0.2);
            slot.rest = room && dice.chance(0.16);
            const bool sweeps = !slot.rest && slot.length > Seconds(0.42) && dice.chance(0.22);
            if (sweeps) {
                const int count = dice.whole(3, 5);
                const double each = dice.between(0.03, 0.06);
                const int direction = walk.way_with_room(count + 1, dice.chance(0.65) ? 1 : -1);
                for (int i = 0; i < count; ++i) {
                    lines.slots.push_back(
                        {Seconds(t), Seconds(each), false, true, walk.third(direction)});
                    t += each;
                }
                slot.key = walk.third(direction);
                slot.at = Seconds(t);
                slot.length -= Seconds(each * count);
            }
            t += slot.length.value();
            lines.slots.push_back(slot);
        }
    }
    // Nobody plays like a clock. Sweeps keep their even pace.
    for (std::size_t i = 1; i < lines.slots.size(); ++i) {
        Slot& s = lines.slots[i];
        Slot& before = lines.slots[i - 1];
        if (s.sweep || before.sweep) continue;
        const Seconds shift(std::clamp(loose * dice.normal(), -0.02, 0.02));
        s.at += shift;
        s.length -= shift;
        before.length += shift;
    }
    // A line ends on a note, not on the beginning of a sweep.
    while (!lines.slots.empty() && (lines.slots.back().rest || lines.slots.back().sweep)) {
        lines.slots.pop_back();
    }
    // And it is held: a short last note would read as staccato, with nothing after it to tell.
    lines.slots.back().length =
        std::max(lines.slots.back().length, Seconds(dice.between(0.4, 0.9)));
    return lines;
}

}  // namespace bentline::corpus
