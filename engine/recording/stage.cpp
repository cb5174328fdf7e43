// The stage profile.
#include "engine/recording/stage.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <complex>
#include <numbers>

#include "engine/transform/fft.h"

namespace bentline {

StageProfile stage_profile(const Audio& audio, SecondsRange span, std::size_t steps) {
    assert(steps >= 3 && steps <= 1000);
    StageProfile profile{std::vector<float>(steps, 0.0F)};
    // About a tenth of a second: long enough to tell neighbouring notes apart.
    const std::size_t size = good_fft_size(static_cast<std::size_t>(audio.rate.value() / 10));
    const std::int64_t length = audio.length().value(), frame = static_cast<std::int64_t>(size);
    const auto clipped = [&](Seconds t) {
        return std::clamp<std::int64_t>((to_frames(t, audio.rate) - audio.start).value(), 0,
                                        length);
    };
    const std::int64_t first = clipped(span.from), last = clipped(span.to);
    if (last - first < frame) return profile;
    if (audio.channels.size() < 2) {
        profile.share[steps / 2] = 1.0F;
        return profile;
    }
    RealFft fft(size);
    const std::vector<float> window = make_window(Window::hann, size);
    std::vector<float> time(size);
    std::vector<std::complex<float>> left(fft.bins()), right(fft.bins());
    std::vector<double> energy(steps, 0.0);
    const double bin = static_cast<double>(audio.rate.value()) / static_cast<double>(size);
    const auto low = static_cast<std::size_t>(std::ceil(stage_lowest.value() / bin));
    const auto high =
        std::min(fft.bins() - 1, static_cast<std::size_t>(stage_highest.value() / bin));
    const std::int64_t hop = std::max(frame / 2, (last - first - frame) / 1499 + 1);
    for (std::int64_t at = first; at + frame <= last; at += hop) {
        const auto spectrum = [&](std::size_t c, std::vector<std::complex<float>>& out) {
            for (std::size_t i = 0; i < size; ++i) {
                time[i] = window[i] * audio.channels[c][static_cast<std::size_t>(at) + i];
            }
            fft.forward(time, out);
        };
        spectrum(0, left);
        spectrum(1, right);
        for (std::size_t k = low; k <= high; ++k) {
            const double l = std::abs(left[k]), r = std::abs(right[k]), e = l * l + r * r;
            if (e <= 0.0) continue;
            const double place = 4.0 / std::numbers::pi * std::atan2(r, l) - 1.0;
            const double step = (place + 1.0) / 2.0 * static_cast<double>(steps);
            energy[std::min(steps - 1, static_cast<std::size_t>(std::max(0.0, step)))] += e;
        }
    }
    const double most = *std::max_element(energy.begin(), energy.end());
    if (most <= 0.0) return profile;
    for (std::size_t i = 0; i < steps; ++i)
        profile.share[i] = static_cast<float>(energy[i] / most);
    return profile;
}

}  // namespace bentline
