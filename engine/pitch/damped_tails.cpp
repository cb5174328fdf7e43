// A fall of the level that only a hand makes, and what sounds after it.
#include "engine/pitch/damped_tails.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace bentline {

namespace {

constexpr double fall_time = 0.015;     // seconds within which the hand damps
constexpr double decay_time = 0.025;    // before it, over which the note's own decay is read
constexpr double fastest_decay = 200;   // dB a second: more is not the string's own
constexpr double attack_time = 0.050;   // so long after an attack a fall may be the attack's
constexpr double attack_rise = 2.5;     // dB
constexpr double still_time = 0.020;    // before the fall the pitch has stayed for so long
constexpr double still = 45.0;          // cents
constexpr double tail_still = 85.0;     // cents: a tail's pitch is read less well
constexpr double alone = 0.05;          // aperiodicity
constexpr double at_knee = 1.5;         // dB under the level before the fall, where it begins
constexpr double over_by = 16.0;        // dB that the hand has taken when the note is over
constexpr double soonest_over = 0.010;  // seconds after the knee
constexpr double latest_over = 0.025;
constexpr double rise = 4.0;        // dB: something is struck
constexpr double shortest = 0.015;  // seconds of a tail
constexpr double longest = 0.3;
constexpr double judged_from = 0.050;  // seconds: tails from this on are seen to sink or not
constexpr double judged_to = 0.200;    // by so much of them
constexpr double part = 0.020;         // from their first part to their last, seconds
constexpr double sinks = 15.0;         // dB a second

class Tails {
  public:
    Tails(std::span<const HeardMoment> line, Seconds hop) : line_(line), hop_(hop.value()) {}

    // The tail after a fall that begins at moment i; empty where there is none.
    Range<std::size_t> after(std::size_t i) const {
        if (!may_fall(i)) return {};
        const std::size_t ahead = moments(fall_time);
        const double before = level(i);
        const std::size_t back = moments(decay_time);
        const double own = std::clamp((level(i - back) - before) / static_cast<double>(back), 0.0,
                                      fastest_decay * hop_);
        const double fall = before - level(i + ahead) - own * static_cast<double>(ahead);
        if (fall < least_damping.value()) return {};

        std::size_t knee = i;
        while (knee + 1 < line_.size() && level(knee + 1) > before - at_knee)
            ++knee;
        const std::size_t over = knee + over_after(i);
        if (over >= line_.size() || level(over) > before - 0.7 * least_damping.value()) return {};
        std::size_t end = knee + 1;
        std::size_t least = end;
        bool struck = false;
        while (end < line_.size() && near(end, i, tail_still) && !struck) {
            if (level(end) < level(least)) least = end;
            struck = level(end) > level(least) + rise;
            ++end;
        }
        const Range<std::size_t> tail{over, struck ? least + 1 : end};
        return is_tail(tail) ? tail : Range<std::size_t>{};
    }

    // Moments that a look back needs.
    std::size_t first() const { return moments(attack_time); }
    // And a look ahead.
    std::size_t beyond() const { return moments(latest_over); }

  private:
    double level(std::size_t i) const { return line_[i].level; }
    std::size_t moments(double seconds) const {
        return static_cast<std::size_t>(std::max(1L, std::lround(seconds / hop_)));
    }

    bool near(std::size_t i, std::size_t j, double cents) const {
        return line_[i].pitch && line_[j].pitch &&
               std::abs(interval(*line_[i].pitch, *line_[j].pitch).value()) < cents;
    }

    // Whether a note sounds there alone, steady, and not just struck.
    bool may_fall(std::size_t i) const {
        const std::size_t back = moments(still_time);
        if (!near(i, i - back, still)) return false;
        for (std::size_t k = i - back; k + moments(0.5 * still_time) <= i; ++k) {
            if (line_[k].aperiodicity > alone) return false;
        }
        for (std::size_t k = i - moments(attack_time); k < i; ++k) {
            if (level(i) - level(k) > attack_rise) return false;
        }
        return true;
    }

    // Moments from the knee of a fall until the note is over, by the steepest of it.
    std::size_t over_after(std::size_t i) const {
        double steepest = least_damping.value() / static_cast<double>(moments(fall_time));
        for (std::size_t k = i; k < i + moments(latest_over); ++k)
            steepest = std::max(steepest, level(k) - level(k + 1));
        const auto needed = static_cast<std::size_t>(std::ceil(over_by / steepest));
        return std::clamp(needed, moments(soonest_over), moments(latest_over));
    }

    bool is_tail(Range<std::size_t> tail) const {
        if (tail.to < tail.from + moments(shortest) || tail.to - tail.from > moments(longest))
            return false;
        if (tail.to - tail.from < moments(judged_from)) return true;
        const std::size_t size = moments(part);
        const std::size_t last = std::min(tail.to, tail.from + moments(judged_to)) - size;
        const double sunk = mean(tail.from, size) - mean(last, size);
        return sunk > sinks * hop_ * static_cast<double>(last - tail.from);
    }

    double mean(std::size_t from, std::size_t count) const {
        double sum = 0.0;
        for (std::size_t k = from; k < from + count; ++k)
            sum += level(k);
        return sum / static_cast<double>(count);
    }

    std::span<const HeardMoment> line_;
    double hop_;
};

}  // namespace

std::vector<bool> damped_tails(std::span<const HeardMoment> line, Seconds hop) {
    std::vector<bool> out(line.size(), false);
    const Tails tails(line, hop);
    std::size_t i = tails.first();
    while (i + tails.beyond() < line.size()) {
        const Range<std::size_t> tail = tails.after(i);
        std::fill(out.begin() + static_cast<std::ptrdiff_t>(tail.from),
                  out.begin() + static_cast<std::ptrdiff_t>(tail.to), true);
        i = std::max(i + 1, tail.to);
    }
    return out;
}

}  // namespace bentline
