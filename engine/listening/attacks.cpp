// Band levels and their rises; the predictor and its misses.
#include "engine/listening/attacks.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace bentline {

namespace {

std::int64_t frames_of(Seconds t, SampleRate rate) {
    return std::max<std::int64_t>(1, to_frames(t, rate).value());
}
constexpr std::int64_t block = 8;  // frames over which misses are summed
constexpr std::int64_t past = 6;   // hops
constexpr double highest_hz = 12000.0;

}  // namespace

AttackFinder::AttackFinder(SampleRate rate, const AttackSettings& settings)
    : settings_(settings),
      hop_(frames_of(settings.hop, rate)),
      size_(static_cast<std::int64_t>(
          good_fft_size(static_cast<std::size_t>(frames_of(settings.frame, rate) / 4 * 4)))),
      training_(frames_of(settings.training, rate)),
      search_(size_ / 4 * 5),
      apart_(frames_of(settings.apart, rate)),
      lead_(to_frames(settings.lead, rate).value()),
      reach_(size_ / 2 + 5 * hop_ + size_),
      fft_(static_cast<std::size_t>(size_)),
      window_(make_window(Window::hann, static_cast<std::size_t>(size_))),
      frame_(static_cast<std::size_t>(size_)),
      other_(static_cast<std::size_t>(training_ + search_)),
      spectrum_(fft_.bins()),
      stretch_(static_cast<std::size_t>(training_ + search_)),
      shaped_(static_cast<std::size_t>(training_)),
      missed_(static_cast<std::size_t>(training_ + search_)) {
    // Bands at least a bin wide, evenly spaced on a logarithmic scale above that.
    const double bin = static_cast<double>(rate.value()) / static_cast<double>(size_);
    const double top = std::min(highest_hz / bin, static_cast<double>(fft_.bins() - 1));
    double at = 1.0;
    const double grow = std::pow(top, 1.0 / static_cast<double>(bands)) * 1.02;
    while (at < top && edges_.size() < bands) {
        edges_.push_back(static_cast<std::size_t>(at));
        at = std::max(at + 1.0, at * grow);
    }
    edges_.push_back(static_cast<std::size_t>(top));
    restart(0);
}

void AttackFinder::restart(std::int64_t from) {
    first_hop_ = from / hop_;
    next_hop_ = first_hop_;
    found_count_ = 0;
    known_ = from;
    loudest_ = -200.0F;
}

void AttackFinder::forget(std::int64_t from) {
    // A level frame sees half its size ahead.
    const std::int64_t hop = (from - size_ / 2) / hop_ - 1;
    next_hop_ = std::clamp(hop, first_hop_, next_hop_);
    while (found_count_ > 0 && found_[(found_count_ - 1) % found_.size()] >= from)
        --found_count_;
    known_ = std::min(known_, from - reach_);
}

// The middle of the stage, or the difference of its sides where that is the louder.
void AttackFinder::mix(const LineBuffer& line, std::int64_t from, std::span<float> out) {
    line.copy(0, from, out);
    if (line.channels() == 1) return;
    const std::span<float> right = std::span(other_).first(out.size());
    line.copy(1, from, right);
    float both = 0.0F;
    for (std::size_t i = 0; i < out.size(); ++i)
        both += out[i] * right[i];
    const float sign = both < 0.0F ? -0.5F : 0.5F;
    for (std::size_t i = 0; i < out.size(); ++i)
        out[i] = 0.5F * out[i] + sign * right[i];
}

AttackFinder::Levels AttackFinder::measure(const LineBuffer& line, std::int64_t centre) {
    mix(line, centre - size_ / 2, frame_);
    for (std::size_t i = 0; i < frame_.size(); ++i)
        frame_[i] *= window_[i];
    fft_.forward(frame_, spectrum_);
    // Full scale: a sine of amplitude 1 gives (size / 4)^2 at its bin.
    const float full = static_cast<float>(size_ * size_) / 16.0F;
    Levels levels{};
    levels.fill(-200.0F);
    for (std::size_t b = 0; b + 1 < edges_.size(); ++b) {
        float sum = 0.0F;
        for (std::size_t k = edges_[b]; k < edges_[b + 1]; ++k)
            sum += std::norm(spectrum_[k]);
        levels[b] = 10.0F * std::log10(sum / full + 1e-20F);
    }
    return levels;
}

float AttackFinder::rise(std::int64_t h) {
    const Levels& now = levels_[static_cast<std::size_t>(h) % history];
    // The loudest of two to six hops before.
    Levels before = levels_[static_cast<std::size_t>(h - 2) % history];
    for (std::int64_t i = 3; i <= past && h - i >= first_hop_; ++i) {
        const Levels& l = levels_[static_cast<std::size_t>(h - i) % history];
        for (std::size_t b = 0; b < bands; ++b)
            before[b] = std::max(before[b], l[b]);
    }
    const std::size_t count = edges_.size() - 1;
    const float loudest =
        *std::max_element(now.begin(), now.begin() + static_cast<std::ptrdiff_t>(count));
    loudest_ = std::max(loudest, loudest_ - 0.15F);
    const float floor = std::max(static_cast<float>(settings_.floor.value()),
                                 loudest_ - static_cast<float>(settings_.depth.value()));
    float sum = 0.0F;
    int used = 0;
    for (std::size_t b = 0; b < count; ++b) {
        if (now[b] < floor && before[b] < floor) continue;
        ++used;
        float old = std::max(before[b], floor);
        if (b > 0) old = std::max(old, before[b - 1]);
        if (b + 1 < count) old = std::max(old, before[b + 1]);
        sum += std::clamp(now[b] - old, 0.0F, 20.0F);
    }
    return used < 1 ? 0.0F : sum / static_cast<float>(std::max(used, 6));
}

// Autocorrelation of the windowed stretch and Levinson's recursion (Makhoul 1975).
void AttackFinder::train(std::size_t frames) {
    for (std::size_t i = 0; i < frames; ++i) {
        const double x = (static_cast<double>(i) + 0.5) / static_cast<double>(frames);
        shaped_[i] =
            stretch_[i] * static_cast<float>(0.5 - 0.5 * std::cos(2.0 * std::numbers::pi * x));
    }
    std::array<double, order + 1> r{};
    for (std::size_t lag = 0; lag <= order; ++lag) {
        float sum = 0.0F;
        double total = 0.0;
        for (std::size_t i = lag; i < frames; ++i) {
            sum += shaped_[i] * shaped_[i - lag];
            if (i % 64 == 0) {
                total += static_cast<double>(sum);
                sum = 0.0F;
            }
        }
        r[lag] = total + static_cast<double>(sum);
    }
    r[0] = r[0] * (1.0 + 1e-7) + 1e-12;  // keeps the recursion sound on pure tones and silence
    std::array<double, order> a{};
    std::array<double, order> old{};
    double error = r[0];
    for (std::size_t m = 0; m < order; ++m) {
        double k = r[m + 1];
        for (std::size_t j = 0; j < m; ++j)
            k -= a[j] * r[m - j];
        k /= error;
        old = a;
        a[m] = k;
        for (std::size_t j = 0; j < m; ++j)
            a[j] = old[j] - k * old[m - 1 - j];
        error *= 1.0 - k * k;
        if (error <= 0.0) break;
    }
    for (std::size_t j = 0; j < order; ++j)
        predictor_[j] = static_cast<float>(a[j]);
}

// The block where the power of the misses changes most likely: the split of greatest likelihood of
// two Gaussians of unequal variance (Basseville & Nikiforov 1993, section 2.6).
std::int64_t AttackFinder::change(std::int64_t first, std::int64_t last) const {
    const auto power = [&](std::int64_t b) {
        double s = 1e-12;
        for (std::int64_t i = b * block; i < (b + 1) * block; ++i) {
            s += static_cast<double>(missed_[static_cast<std::size_t>(i)]);
        }
        return s;
    };
    double all = 0.0;
    for (std::int64_t b = first; b < last; ++b)
        all += power(b);
    constexpr std::int64_t least = 6;  // blocks on either side
    std::int64_t best = first;
    double best_gain = -1e300;
    double left = 0.0;
    for (std::int64_t b = first; b + least < last; ++b) {
        if (b >= first + least) {
            const auto n = static_cast<double>(b - first);
            const auto m = static_cast<double>(last - b);
            const double gain = -n * std::log(left / n) - m * std::log((all - left) / m);
            if (gain > best_gain) {
                best_gain = gain;
                best = b;
            }
        }
        left += power(b);
    }
    return best;
}

void AttackFinder::consider(const LineBuffer& line, std::int64_t about, double rise) {
    const std::int64_t from = about - size_ / 4 * 3 - training_;  // of the training
    mix(line, from, stretch_);
    const auto trained = static_cast<std::size_t>(training_);
    train(trained);
    // Misses, squared; from where the predictor has its past.
    for (std::size_t i = order; i < stretch_.size(); ++i) {
        float guess = 0.0F;
        for (std::size_t j = 0; j < order; ++j)
            guess += predictor_[j] * stretch_[i - 1 - j];
        missed_[i] = (stretch_[i] - guess) * (stretch_[i] - guess);
    }
    const auto sum_of = [&](std::int64_t b) {
        float s = 1e-11F;
        for (std::int64_t i = b * block; i < (b + 1) * block; ++i)
            s += missed_[static_cast<std::size_t>(i)];
        return s;
    };
    const std::int64_t first = training_ / block;  // block where the search begins
    const std::int64_t last = (training_ + search_) / block;
    float before = 0.0F;
    for (std::int64_t b = first / 2; b < first; ++b)
        before = std::max(before, sum_of(b));
    float peak = 0.0F;
    for (std::int64_t b = first; b < last; ++b)
        peak = std::max(peak, sum_of(b));
    // Soft attacks leap little but raise many bands; sharp ones need no more than their leap.
    const double leap = 10.0 * std::log10(static_cast<double>(peak) / static_cast<double>(before));
    if (rise + std::max(0.0, leap) * settings_.leap_share < settings_.proof.value()) return;
    std::int64_t at = about;
    if (leap >= settings_.sharp.value()) {
        const float threshold = std::max(3.0F * before, 0.003F * peak);
        std::int64_t b = first;
        while (b + 1 < last && sum_of(b) <= threshold)
            ++b;
        at = from + b * block;
        for (std::int64_t i = b * block; i < (b + 1) * block; ++i) {
            if (missed_[static_cast<std::size_t>(i)] <= 0.25F * threshold) continue;
            at = from + i;
            break;
        }
    } else {
        at = from + change(first - search_ / block / 2, last) * block - lead_;
    }
    const std::int64_t previous =
        found_count_ == 0 ? -none : found_[(found_count_ - 1) % found_.size()];
    if (previous != -none && at - previous < apart_) return;
    found_[found_count_ % found_.size()] = at;
    ++found_count_;
}

void AttackFinder::look(const LineBuffer& line) {
    while ((next_hop_ * hop_) + size_ / 2 <= line.end()) {
        const auto slot = static_cast<std::size_t>(next_hop_) % history;
        levels_[slot] = measure(line, next_hop_ * hop_);
        rises_[slot] = next_hop_ >= first_hop_ + 2 ? rise(next_hop_) : 0.0F;
        // The highest of five rises, two hops ago.
        const std::int64_t h = next_hop_ - 2;
        if (h >= first_hop_ + 2) {
            const auto at = [&](std::int64_t i) {
                return rises_[static_cast<std::size_t>(i) % history];
            };
            const float here = at(h);
            if (here >= static_cast<float>(settings_.rise.value()) && here >= at(h - 1) &&
                here >= at(h - 2) && here > at(h + 1) && here > at(h + 2)) {
                consider(line, h * hop_, static_cast<double>(here));
            }
        }
        ++next_hop_;
        known_ = std::max(known_, (next_hop_ - 3) * hop_ - size_);
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

}  // namespace bentline
