// Viterbi and forward-backward over the pitch grid plus one silent state.
#include "engine/pitch/pitch_path.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <optional>

#include "engine/transform/wide_lanes.h"

namespace bentline {

namespace {

// What a move between two frames is worth. The evidence is a probability of each hypothesis, not a
// density over pitch, so a leap's price does not depend on how many bins there are.
struct Moves {
    std::vector<float>
        glide;  // glide[k]: to a bin k steps away, for the best path; glide[0]: staying
    std::vector<float> diffuse;  // the same for sums over paths
    float leap;                  // to any one bin by a leap
    float fall_silent;
    float begin;  // from silence to any one bin
    float stay_silent;
};

// Summed over paths, staying on a hypothesis loses what the glide spreads outside its few bins;
// this makes up for it, so that sums and best paths weigh voice against silence alike.
constexpr double spread_gain = 1.9;

Moves moves_of(const PitchGrid& grid, const PathSettings& s) {
    Moves m;
    const auto reach = static_cast<std::size_t>(s.widest_glide / grid.step);
    const double stay = 1.0 - s.leap - s.fall_silent;
    double sum = 0.0;
    for (std::size_t k = 0; k <= reach; ++k) {
        const double w = 1.0 - static_cast<double>(k) / static_cast<double>(reach + 1);
        m.glide.push_back(static_cast<float>(stay * w));
        sum += k == 0 ? w : 2.0 * w;
    }
    for (const float g : m.glide)
        m.diffuse.push_back(g * static_cast<float>(spread_gain / sum));
    m.leap = static_cast<float>(s.leap);
    m.fall_silent = static_cast<float>(s.fall_silent);
    m.begin = static_cast<float>(s.begin);
    m.stay_silent = static_cast<float>(1.0 - s.begin);
    return m;
}

// A hypothesis covers about this share^-1 of bins, among which a leap divides itself.
constexpr float one_of_hypothesis = 1.0F / 6.0F;

// The evidence of one frame spread over the grid.
void spread(const FrameEvidence& e, std::vector<float>& dense) {
    std::fill(dense.begin(), dense.end(), e.anywhere);
    for (const FrameEvidence::At& a : e.heard) {
        dense[a.bin] = std::max(dense[a.bin], a.likelihood);
    }
    const std::size_t first = std::min(e.first_bin, dense.size());
    const std::size_t end = std::min(e.end_bin, dense.size());
    std::fill(dense.begin(), dense.begin() + static_cast<std::ptrdiff_t>(first), 0.0F);
    std::fill(dense.begin() + static_cast<std::ptrdiff_t>(std::max(first, end)), dense.end(), 0.0F);
}

// The two likeliest bins outside `taken` and each other's neighbourhood.
std::array<PathPoint::Other, 2> others_of(const std::vector<float>& posterior, std::size_t bins,
                                          std::size_t near, double all,
                                          std::optional<std::size_t> taken) {
    std::array<PathPoint::Other, 2> found{};
    std::optional<std::size_t> first;
    const auto beside = [near](std::size_t a, const std::optional<std::size_t>& b) {
        return b && (a > *b ? a - *b : *b - a) <= 2 * near;
    };
    for (PathPoint::Other& other : found) {
        std::size_t top = bins;
        for (std::size_t b = 0; b < bins; ++b) {
            if (beside(b, taken) || beside(b, first)) continue;
            if (top == bins || posterior[b] > posterior[top]) top = b;
        }
        if (top == bins || !(all > 0.0)) break;
        double sum = 0.0;
        for (std::size_t b = top > near ? top - near : 0; b <= std::min(bins - 1, top + near); ++b)
            sum += static_cast<double>(posterior[b]);
        other = {top, std::min(1.0, sum / all)};
        first = top;
    }
    return found;
}

// out[b] = sum over k of from[b + k] * glide[|k|], both of n values.
BENTLINE_WIDE_LANES
void glide_sum(const float* __restrict from, std::size_t n, const float* glide, std::size_t reach,
               float* __restrict out) {
    for (std::size_t b = 0; b < n; ++b)
        out[b] = from[b] * glide[0];
    for (std::size_t k = 1; k < reach && k < n; ++k) {
        const float g = glide[k];
        for (std::size_t b = 0; b + k < n; ++b)
            out[b] += from[b + k] * g;
        for (std::size_t b = k; b < n; ++b)
            out[b] += from[b - k] * g;
    }
}

// The best way into each bin by gliding, where one is better than what is there already.
BENTLINE_WIDE_LANES
void glide_best(const float* __restrict best, std::size_t n, const float* glide, std::size_t reach,
                float* __restrict next, std::int32_t* __restrict from) {
    for (std::size_t k = 0; k < reach && k < n; ++k) {
        const float g = glide[k];
        const auto step = static_cast<std::int32_t>(k);
        for (std::size_t b = 0; b + k < n; ++b) {
            const float v = best[b + k] * g;
            from[b] = v > next[b] ? static_cast<std::int32_t>(b) + step : from[b];
            next[b] = v > next[b] ? v : next[b];
        }
        for (std::size_t b = k; b < n; ++b) {
            const float v = best[b - k] * g;
            from[b] = v > next[b] ? static_cast<std::int32_t>(b) - step : from[b];
            next[b] = v > next[b] ? v : next[b];
        }
    }
}

// Eight sums side by side.
BENTLINE_WIDE_LANES
double sum_of(const float* p, std::size_t n) {
    double lane[8] = {};
    std::size_t b = 0;
    for (; b + 8 <= n; b += 8) {
        for (std::size_t k = 0; k < 8; ++k)
            lane[k] += static_cast<double>(p[b + k]);
    }
    double sum = 0.0;
    for (; b < n; ++b)
        sum += static_cast<double>(p[b]);
    for (const double v : lane)
        sum += v;
    return sum;
}

// The silent state is kept behind the pitches, at index bins.
void scale_to_one(std::vector<float>& p) {
    const double sum = sum_of(p.data(), p.size());
    const auto f = static_cast<float>(1.0 / sum);
    for (float& v : p)
        v *= f;
}

class Decoder {
  public:
    Decoder(const PitchGrid& grid, const PathSettings& settings)
        : grid_(grid), moves_(moves_of(grid, settings)), dense_(grid.bins), glided_(grid.bins) {}

    // One Viterbi step; `best` holds scaled probabilities of the best paths, `from` gets each
    // state's predecessor.
    void advance(const FrameEvidence& e, std::vector<float>& best,
                 std::vector<std::uint16_t>& from) {
        const std::size_t n = grid_.bins;
        spread(e, dense_);
        const auto top = static_cast<std::size_t>(
            std::max_element(best.begin(), best.begin() + static_cast<std::ptrdiff_t>(n)) -
            best.begin());
        const float leap = best[top] * moves_.leap;
        const float begin = best[n] * moves_.begin;
        const bool fresh = begin > leap;
        const float anew = fresh ? begin : leap;
        next_.resize(n + 1);
        from.resize(n + 1);
        std::fill(next_.begin(), next_.end(), anew);
        came_.assign(n, fresh ? static_cast<std::int32_t>(n) : static_cast<std::int32_t>(top));
        glide_best(best.data(), n, moves_.glide.data(), moves_.glide.size(), next_.data(),
                   came_.data());
        for (std::size_t b = 0; b < n; ++b)
            from[b] = static_cast<std::uint16_t>(came_[b]);
        for (std::size_t b = 0; b < n; ++b)
            next_[b] *= dense_[b];
        const float hush = best[top] * moves_.fall_silent;
        const float rest = best[n] * moves_.stay_silent;
        next_[n] = std::max(hush, rest) * e.silent;
        from[n] = static_cast<std::uint16_t>(rest >= hush ? n : top);
        scale_to_one(next_);
        best.swap(next_);
    }

    void forward(const FrameEvidence& e, std::vector<float>& p) {
        const std::size_t n = grid_.bins;
        spread(e, dense_);
        const double voiced = sum_of(p.data(), n);
        const float silent = p[n];
        glide_sum(p.data(), n, moves_.diffuse.data(), moves_.diffuse.size(), glided_.data());
        const float anew =
            (static_cast<float>(voiced) * moves_.leap + silent * moves_.begin) * one_of_hypothesis;
        for (std::size_t b = 0; b < n; ++b)
            p[b] = (glided_[b] + anew) * dense_[b];
        p[n] = (static_cast<float>(voiced) * moves_.fall_silent + silent * moves_.stay_silent) *
               e.silent;
        scale_to_one(p);
    }

    // p: of the frame `e` (its later evidence) -> of the frame before.
    void backward(const FrameEvidence& e, std::vector<float>& p) {
        const std::size_t n = grid_.bins;
        spread(e, dense_);
        for (std::size_t b = 0; b < n; ++b)
            p[b] *= dense_[b];
        const double sum = sum_of(p.data(), n);
        const float silent = p[n] * e.silent;
        glide_sum(p.data(), n, moves_.diffuse.data(), moves_.diffuse.size(), glided_.data());
        const auto all = static_cast<float>(sum);
        for (std::size_t b = 0; b < n; ++b) {
            p[b] = glided_[b] + all * moves_.leap * one_of_hypothesis + silent * moves_.fall_silent;
        }
        p[n] = all * moves_.begin * one_of_hypothesis + silent * moves_.stay_silent;
        scale_to_one(p);
    }

    std::vector<float> beginning() const {
        std::vector<float> p(grid_.bins + 1, 0.1F / static_cast<float>(grid_.bins));
        p.back() = 0.9F;
        return p;
    }

  private:
    PitchGrid grid_;
    Moves moves_;
    std::vector<float> dense_;
    std::vector<float> glided_;
    std::vector<float> next_;
    std::vector<std::int32_t> came_;
};

// How many frames are decoded together for the posteriors; keeps memory small on long recordings.
constexpr std::size_t block = 2000;
constexpr std::size_t warm_up = 100;

}  // namespace

std::size_t PitchGrid::bin_of(Pitch p) const {
    const double at = std::round((p - lowest) / step);
    if (!(at >= 0.0) || at >= static_cast<double>(bins)) return bins;
    return static_cast<std::size_t>(at);
}

Result<std::vector<PathPoint>> most_probable_path(const PitchGrid& grid,
                                                  std::span<const FrameEvidence> frames,
                                                  const PathSettings& settings, const Work& work) {
    std::vector<PathPoint> path(frames.size());
    if (frames.empty()) return path;
    const std::size_t n = grid.bins;
    Decoder decoder(grid, settings);

    std::vector<std::vector<std::uint16_t>> from(frames.size());
    std::vector<float> best = decoder.beginning();
    for (std::size_t i = 0; i < frames.size(); ++i) {
        decoder.advance(frames[i], best, from[i]);
        if (i % 256 == 0 &&
            !work.report(0.5 * static_cast<double>(i) / static_cast<double>(frames.size()))) {
            return stopped_failure();
        }
    }
    auto state =
        static_cast<std::size_t>(std::max_element(best.begin(), best.end()) - best.begin());
    for (std::size_t i = frames.size(); i-- > 0;) {
        path[i].voiced = state < n;
        path[i].bin = state < n ? state : 0;
        state = from[i][state];
    }
    from.clear();
    from.shrink_to_fit();

    const auto near = static_cast<std::size_t>(Cents(50.0) / grid.step);
    std::vector<float> ahead = decoder.beginning();
    std::vector<std::vector<float>> forward;
    for (std::size_t first = 0; first < frames.size(); first += block) {
        const std::size_t last = std::min(frames.size(), first + block);
        forward.assign(last - first, {});
        for (std::size_t i = first; i < last; ++i) {
            decoder.forward(frames[i], ahead);
            forward[i - first] = ahead;
        }
        std::vector<float> behind(n + 1, 1.0F / static_cast<float>(n + 1));
        for (std::size_t i = std::min(frames.size(), last + warm_up); i-- > first + 1;) {
            if (i < last) {
                // `behind` belongs to frame i here.
                std::vector<float>& f = forward[i - first];
                for (std::size_t b = 0; b <= n; ++b)
                    f[b] *= behind[b];
            }
            decoder.backward(frames[i], behind);
        }
        for (std::size_t b = 0; b <= n; ++b)
            forward[0][b] *= behind[b];
        for (std::size_t i = first; i < last; ++i) {
            const std::vector<float>& f = forward[i - first];
            const double all = sum_of(f.data(), f.size());
            double here = 0.0;
            if (path[i].voiced) {
                const std::size_t lo = path[i].bin > near ? path[i].bin - near : 0;
                const std::size_t hi = std::min(n - 1, path[i].bin + near);
                for (std::size_t b = lo; b <= hi; ++b)
                    here += f[b];
            } else {
                here = f[n];
            }
            path[i].probability = all > 0.0 ? std::min(1.0, here / all) : 0.0;
            path[i].others = others_of(f, n, near, all,
                                       path[i].voiced ? std::optional(path[i].bin) : std::nullopt);
        }
        if (!work.report(0.5 +
                         0.5 * static_cast<double>(last) / static_cast<double>(frames.size()))) {
            return stopped_failure();
        }
    }
    return path;
}

}  // namespace bentline
