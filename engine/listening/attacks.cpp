// Band levels, their rises, and the first frame of an attack.
#include "engine/listening/attacks.h"

#include <algorithm>
#include <cmath>

namespace bentline {

namespace {

std::int64_t frames_of(Seconds t, SampleRate rate) {
    return std::max<std::int64_t>(1, to_frames(t, rate).value());
}
std::int64_t even(std::int64_t n) {
    return n + n % 2;
}

}  // namespace

AttackFinder::AttackFinder(SampleRate rate, const AttackSettings& settings)
    : settings_(settings),
      hop_(frames_of(settings.hop, rate)),
      size_(static_cast<std::int64_t>(
          good_fft_size(static_cast<std::size_t>(even(frames_of(settings.frame, rate)))))),
      past_hops_(std::min<std::int64_t>(frames_of(settings.past, rate) / hop_, 40)),
      apart_(frames_of(settings.apart, rate)),
      fft_(static_cast<std::size_t>(size_)),
      window_(make_window(Window::hann, static_cast<std::size_t>(size_))),
      frame_(static_cast<std::size_t>(size_)),
      spectrum_(fft_.bins()) {
    reach_ = size_ + 4 * hop_;
    // Band edges spaced evenly on a logarithmic scale from bin 1 to the last.
    const auto top = static_cast<double>(fft_.bins());
    edges_[0] = 1;
    for (std::size_t b = 1; b <= bands; ++b) {
        const double share = static_cast<double>(b) / static_cast<double>(bands);
        const auto e = static_cast<std::size_t>(std::lround(std::pow(top, share)));
        edges_[b] = std::min(std::max(e, edges_[b - 1] + 1), fft_.bins());
    }
    restart(0);
}

void AttackFinder::restart(std::int64_t from) {
    first_hop_ = from / hop_;
    next_hop_ = first_hop_;
    found_count_ = 0;
    known_ = from;
}

void AttackFinder::forget(std::int64_t from) {
    // A level frame sees half its size ahead.
    const std::int64_t hop = (from - size_ / 2) / hop_ - 1;
    next_hop_ = std::clamp(hop, first_hop_, next_hop_);
    while (found_count_ > 0 && found_[(found_count_ - 1) % found_.size()] >= from)
        --found_count_;
    known_ = std::min(known_, from - reach_);
}

AttackFinder::Levels AttackFinder::measure(const LineBuffer& line, std::int64_t centre) {
    Levels levels{};
    for (std::size_t c = 0; c < static_cast<std::size_t>(line.channels()); ++c) {
        line.copy(c, centre - size_ / 2, frame_);
        for (std::size_t i = 0; i < frame_.size(); ++i)
            frame_[i] *= window_[i];
        fft_.forward(frame_, spectrum_);
        for (std::size_t b = 0; b < bands; ++b) {
            float sum = 0.0F;
            for (std::size_t k = edges_[b]; k < edges_[b + 1]; ++k)
                sum += std::norm(spectrum_[k]);
            levels[b] += sum;
        }
    }
    // Full scale: a sine of amplitude 1 gives (size / 4)^2 at its bin.
    const float full = static_cast<float>(size_ * size_) / 16.0F;
    const auto lowest = static_cast<float>(settings_.floor.value());
    for (float& l : levels)
        l = std::max(10.0F * std::log10(l / full + 1e-20F), lowest);
    return levels;
}

float AttackFinder::rise(std::int64_t h) const {
    float sum = 0.0F;
    for (std::size_t b = 0; b < bands; ++b) {
        float before = static_cast<float>(settings_.floor.value());
        for (std::int64_t i = std::max(first_hop_, h - past_hops_); i < h; ++i) {
            before = std::max(before, levels_[static_cast<std::size_t>(i) % history][b]);
        }
        const float up = levels_[static_cast<std::size_t>(h) % history][b] - before;
        sum += std::clamp(up, 0.0F, 20.0F);
    }
    return sum / static_cast<float>(bands);
}

std::int64_t AttackFinder::first_frame(const LineBuffer& line, std::int64_t about) {
    // Energy of the sample-to-sample difference in short steps; the attack begins where it first
    // exceeds both a share of its peak and what went before.
    constexpr std::int64_t step = 8;
    const std::int64_t from = about - size_ / 2 - hop_;
    const std::int64_t steps = (size_ + hop_) / step;
    const auto energy = [&](std::int64_t s) {
        float e = 0.0F;
        for (std::size_t c = 0; c < static_cast<std::size_t>(line.channels()); ++c) {
            for (std::int64_t i = s * step; i < (s + 1) * step; ++i) {
                const float d = line.at(c, from + i) - line.at(c, from + i - 1);
                e += d * d;
            }
        }
        return e;
    };
    float peak = 0.0F;
    for (std::int64_t s = 0; s < steps; ++s)
        peak = std::max(peak, energy(s));
    float before = 0.0F;
    const std::int64_t lead = size_ / 4 / step;
    for (std::int64_t s = -lead; s < lead; ++s)
        before = std::max(before, energy(s));
    const float threshold = std::min(std::max(0.02F * peak, 2.0F * before), 0.7F * peak);
    for (std::int64_t s = 0; s < steps; ++s) {
        if (energy(s) <= threshold) continue;
        for (std::int64_t i = s * step; i < (s + 1) * step; ++i) {
            float e = 0.0F;
            for (std::size_t c = 0; c < static_cast<std::size_t>(line.channels()); ++c) {
                const float d = line.at(c, from + i) - line.at(c, from + i - 1);
                e += d * d;
            }
            if (e > threshold * 0.25F) return from + i;
        }
        return from + s * step;
    }
    return about;
}

void AttackFinder::look(const LineBuffer& line) {
    while ((next_hop_ * hop_) + size_ / 2 <= line.end()) {
        const auto slot = static_cast<std::size_t>(next_hop_) % history;
        levels_[slot] = measure(line, next_hop_ * hop_);
        rises_[slot] = rise(next_hop_);
        // A local peak of the rise, one hop ago.
        const std::int64_t h = next_hop_ - 1;
        if (h > first_hop_) {
            const float here = rises_[static_cast<std::size_t>(h) % history];
            const float before = rises_[static_cast<std::size_t>(h - 1) % history];
            const float after = rises_[slot];
            if (here >= static_cast<float>(settings_.rise.value()) && here >= before &&
                here > after) {
                const std::int64_t at = first_frame(line, h * hop_);
                const std::int64_t previous =
                    found_count_ == 0 ? -none : found_[(found_count_ - 1) % found_.size()];
                if (previous == -none || at - previous >= apart_) {
                    found_[found_count_ % found_.size()] = at;
                    ++found_count_;
                }
            }
        }
        ++next_hop_;
        known_ = std::max(known_, (next_hop_ - 1) * hop_ - size_ / 2 - 2 * hop_);
    }
}

std::int64_t AttackFinder::next(std::int64_t from) const {
    std::int64_t best = none;
    for (std::size_t i = 0; i < std::min(found_count_, found_.size()); ++i) {
        const std::int64_t a = found_[(found_count_ - 1 - i) % found_.size()];
        if (a < from) break;
        best = a;
    }
    return best;
}

std::int64_t AttackFinder::last(std::int64_t at) const {
    for (std::size_t i = 0; i < std::min(found_count_, found_.size()); ++i) {
        const std::int64_t a = found_[(found_count_ - 1 - i) % found_.size()];
        if (a <= at) return a;
    }
    return -none;
}

}  // namespace bentline
