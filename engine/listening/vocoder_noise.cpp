// The vocoder's noise: in place of what was rotated, new noise of the same levels.
#include <algorithm>
#include <cmath>

#include "engine/listening/vocoder.h"

namespace bentline {

namespace {

// SplitMix64 (Steele, Lea & Flood 2014, figure 16).
std::uint64_t mixed(std::uint64_t z) {
    z = (z ^ (z >> 30U)) * 0xBF58476D1CE4E5B9ULL;
    z = (z ^ (z >> 27U)) * 0x94D049BB133111EBULL;
    return z ^ (z >> 31U);
}

}  // namespace

// A slowed bin holds its level for as long as a frame lasts, times the slowing: heard as a warble.
// So noise is not slowed but made anew, frame by frame, at the level of the noise round each bin,
// with phases by chance (Moliner et al. 2024, "Noise morphing for audio time stretching"); for two
// channels with the covariance that theirs has there, so that it stands where it stood on the
// stage. Frames of chance phases add in power, not in amplitude: their gain is the root of how many
// lie over a place.
void Vocoder::renew_noise(std::int64_t out) {
    const std::size_t bins = power_.size();
    auto& [share, left, right, real, imaginary] = noise_sums_;
    // Rotation turns all channels alike: powers and cross spectrum are what they were.
    double s = 0.0, l = 0.0, r = 0.0, re = 0.0, im = 0.0;
    for (std::size_t k = 0; k < bins; ++k) {
        const auto w = static_cast<double>(share_[k]);
        if (w > 0.0) {
            s += w;
            l += w * static_cast<double>(std::norm(now_[0][k]));
            if (channels_ == 2) {
                r += w * static_cast<double>(std::norm(now_[1][k]));
                const std::complex<float> cross = now_[1][k] * std::conj(now_[0][k]);
                re += w * static_cast<double>(cross.real());
                im += w * static_cast<double>(cross.imag());
            }
        }
        share[k + 1] = s;
        left[k + 1] = l;
        right[k + 1] = r;
        real[k + 1] = re;
        imaginary[k + 1] = im;
    }
    // Chance phases spread a frame that was cut over the whole of its transform.
    const auto gain = static_cast<float>(
        std::sqrt(static_cast<double>(size_ * size_) / static_cast<double>(hop_ * length_)));
    // By the place in the output alone: the same whatever the blocks.
    std::uint64_t state = mixed(static_cast<std::uint64_t>(out) + 0x9E3779B97F4A7C15ULL);
    for (std::size_t k = 0; k < bins; ++k) {
        if (share_[k] <= 0.0F) continue;
        const std::size_t reach = NoiseFinder::reach(k);
        const std::size_t from = k > reach ? k - reach : 0;
        const std::size_t to = std::min(bins, k + reach + 1);
        const double one_over = 1.0 / (share[to] - share[from]);
        const auto mean = [&](const std::vector<double>& sums) {
            return static_cast<float>((sums[to] - sums[from]) * one_over);
        };
        const bool all = share_[k] == 1.0F;
        const float keep = all ? 0.0F : std::sqrt(1.0F - share_[k]);
        const float fresh = all ? gain : std::sqrt(share_[k]) * gain;
        state += 0x9E3779B97F4A7C15ULL;
        const std::uint64_t chance = mixed(state);
        const std::complex<float> a = turns_[chance % turns_.size()];
        const float first = std::sqrt(std::max(0.0F, mean(left)));
        now_[0][k] = keep * now_[0][k] + fresh * first * a;
        if (channels_ == 1) continue;
        const std::complex<float> b = turns_[(chance >> 32U) % turns_.size()];
        const std::complex<float> shared =
            first > 0.0F ? std::complex<float>(mean(real), mean(imaginary)) / first
                         : std::complex<float>{};
        const float own = std::sqrt(std::max(0.0F, mean(right) - std::norm(shared)));
        now_[1][k] = keep * now_[1][k] + fresh * (shared * a + own * b);
    }
}

}  // namespace bentline
