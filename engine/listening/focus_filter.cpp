// Short spectra, their mask, and the fade between dry and filtered.
#include "engine/listening/focus_filter.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace bentline {

namespace {
constexpr double soft_edge = 0.15;      // of the stage, over which a place fades out
constexpr double least_reach = 0.08;    // narrower than this no place can be told
constexpr double partials_above = 4.0;  // highest note times this still passes
}  // namespace

FocusFilter::FocusFilter(SampleRate rate, int channels)
    : rate_(rate),
      channels_(static_cast<std::size_t>(channels)),
      size_(good_fft_size(static_cast<std::size_t>(std::max(64, rate.value() / 22 / 4 * 4)))),
      hop_(size_ / 4),
      fft_(size_),
      window_(make_window(Window::hann, size_)),
      register_gain_(fft_.bins(), 1.0F),
      time_(size_) {
    // Square roots of Hann before and after; four overlap to two.
    for (float& w : window_)
        w = std::sqrt(w);
    hop_ = size_ / 4;
    for (std::size_t c = 0; c < channels_; ++c) {
        in_[c].assign(size_, 0.0F);
        sum_[c].assign(size_, 0.0F);
        done_[c].assign(hop_, 0.0F);
        dry_[c].assign(hop_, 0.0F);
        spectrum_[c].resize(fft_.bins());
    }
}

void FocusFilter::switch_on(const Focus& focus) {
    target_ = 1.0F;
    place_ = focus.place;
    reach_ = focus.whole_stage() ? 4.0 : std::max(least_reach, focus.width / 2.0);
    const double low = frequency(focus.lowest - Cents(100)).value();
    const double high = frequency(focus.highest).value() * partials_above;
    for (std::size_t k = 0; k < register_gain_.size(); ++k) {
        const double hz = static_cast<double>(k) * rate_.value() / static_cast<double>(size_);
        // A third of an octave from full to nothing.
        const double below = hz <= 0.0 ? 0.0 : 1.0 + 3.0 * std::log2(hz / low);
        const double above = hz <= 0.0 ? 0.0 : 1.0 - 3.0 * std::log2(hz / high);
        register_gain_[k] = static_cast<float>(std::clamp(std::min(below, above), 0.0, 1.0));
    }
}

void FocusFilter::restart() {
    fresh_ = true;
}

void FocusFilter::frame() {
    for (std::size_t c = 0; c < channels_; ++c) {
        for (std::size_t i = 0; i < size_; ++i)
            time_[i] = in_[c][i] * window_[i];
        fft_.forward(time_, spectrum_[c]);
    }
    for (std::size_t k = 0; k < register_gain_.size(); ++k) {
        float gain = register_gain_[k];
        if (channels_ == 2 && reach_ < 2.0) {
            const double here =
                4.0 / std::numbers::pi *
                    std::atan2(std::abs(spectrum_[1][k]), std::abs(spectrum_[0][k]) + 1e-12F) -
                1.0;
            const double out = (std::abs(here - place_) - reach_) / soft_edge;
            gain *= static_cast<float>(std::clamp(1.0 - out, 0.0, 1.0));
        }
        for (std::size_t c = 0; c < channels_; ++c)
            spectrum_[c][k] *= gain;
    }
    for (std::size_t c = 0; c < channels_; ++c) {
        fft_.inverse(spectrum_[c], time_);
        for (std::size_t i = 0; i < size_; ++i)
            sum_[c][i] += 0.5F * window_[i] * time_[i];
        std::copy_n(sum_[c].begin(), hop_, done_[c].begin());
        std::copy_n(in_[c].begin(), hop_, dry_[c].begin());
        std::copy(sum_[c].begin() + static_cast<std::ptrdiff_t>(hop_), sum_[c].end(),
                  sum_[c].begin());
        std::fill(sum_[c].end() - static_cast<std::ptrdiff_t>(hop_), sum_[c].end(), 0.0F);
        std::copy(in_[c].begin() + static_cast<std::ptrdiff_t>(hop_), in_[c].end(), in_[c].begin());
    }
    std::array<float*, 2> into{};
    for (std::size_t c = 0; c < channels_; ++c)
        into[c] = in_[c].data() + size_ - hop_;
    head_ += static_cast<std::int64_t>(hop_);
    line_->read(Frames(head_ + static_cast<std::int64_t>(size_ - hop_)), hop_,
                std::span(into.data(), channels_));
}

void FocusFilter::read(Frames from, std::size_t count, std::span<float* const> out) {
    if (mix_ == 0.0F && target_ == 0.0F) {
        fresh_ = true;
        line_->read(from, count, out);
        return;
    }
    if (fresh_ || from.value() != next_) {
        fresh_ = false;
        // Begin a spectrum's length before, so that the first frame given is whole.
        head_ = from.value() - static_cast<std::int64_t>(size_);
        std::array<float*, 2> into{};
        for (std::size_t c = 0; c < channels_; ++c) {
            into[c] = in_[c].data();
            std::fill(sum_[c].begin(), sum_[c].end(), 0.0F);
        }
        line_->read(Frames(head_), size_, std::span(into.data(), channels_));
        for (int i = 0; i < 4; ++i)
            frame();
        ready_ = 0;
        next_ = from.value();
    }
    const float step = 1.0F / (0.03F * static_cast<float>(rate_.value()));
    for (std::size_t i = 0; i < count; ++i) {
        if (ready_ == 0) {
            frame();
            ready_ = hop_;
        }
        const std::size_t at = hop_ - ready_;
        for (std::size_t c = 0; c < channels_; ++c)
            out[c][i] = dry_[c][at] + mix_ * (done_[c][at] - dry_[c][at]);
        --ready_;
        mix_ = target_ > mix_ ? std::min(target_, mix_ + step) : std::max(target_, mix_ - step);
    }
    next_ = from.value() + static_cast<std::int64_t>(count);
}

}  // namespace bentline
