// Viterbi and forward-backward over the pitch grid plus one silent state.
#include "engine/pitch/pitch_path.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <memory>
#include <optional>

#include "engine/pitch/path_rows.h"

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
std::array<PathPoint::Other, 2> others_of(const float* posterior, std::size_t bins,
                                          std::size_t near, double all,
                                          std::optional<std::size_t> taken) {
    std::array<PathPoint::Other, 2> found{};
    // Bins that are out of the question, in order, as [from, to).
    std::array<Range<std::size_t>, 2> out{};
    std::size_t count = 0;
    const auto leave_out = [&](std::size_t b) {
        const Range<std::size_t> around{b > 2 * near ? b - 2 * near : 0,
                                        std::min(bins, b + 2 * near + 1)};
        out[count++] = around;
        if (count == 2 && out[1].from < out[0].from) std::swap(out[0], out[1]);
    };
    if (taken) leave_out(*taken);
    for (PathPoint::Other& other : found) {
        std::size_t top = bins;
        std::size_t from = 0;
        for (std::size_t k = 0; k <= count; ++k) {
            const std::size_t to = k < count ? out[k].from : bins;
            if (from < to) {
                const std::size_t b = from + first_largest(posterior + from, to - from);
                if (top == bins || posterior[b] > posterior[top]) top = b;
            }
            if (k < count) from = std::max(from, out[k].to);
        }
        if (top == bins || !(all > 0.0)) break;
        double sum = 0.0;
        for (std::size_t b = top > near ? top - near : 0; b <= std::min(bins - 1, top + near); ++b)
            sum += static_cast<double>(posterior[b]);
        other = {top, std::min(1.0, sum / all)};
        if (count < 2) leave_out(top);
    }
    return found;
}

void scale_to_one(float* p, std::size_t n) {
    scale(p, n, static_cast<float>(1.0 / sum_of(p, n)));
}

// Probabilities of the pitches and, behind them, of silence.
class Decoder {
  public:
    Decoder(const PitchGrid& grid, const PathSettings& settings)
        : bins_(grid.bins),
          moves_(moves_of(grid, settings)),
          dense_(bins_),
          room_(moves_.glide.size()),
          padded_(room_ + whole_rows(bins_ + 1) + room_, 0.0F),
          next_(whole_rows(bins_ + 1)),
          came_(whole_rows(bins_ + 1)) {}

    // One Viterbi step; `best` holds scaled probabilities of the best paths, `from` gets each
    // state's predecessor.
    void advance(const FrameEvidence& e, std::vector<float>& best, std::uint16_t* from) {
        const std::size_t n = bins_;
        spread(e, dense_);
        const std::size_t top = first_largest(best.data(), n);
        const float leap = best[top] * moves_.leap;
        const float begin = best[n] * moves_.begin;
        const bool fresh = begin > leap;
        std::fill(next_.begin(), next_.end(), fresh ? begin : leap);
        std::fill(came_.begin(), came_.end(), static_cast<std::int32_t>(fresh ? n : top));
        glide_best(pad(best), n, moves_.glide.data(), moves_.glide.size(), next_.data(),
                   came_.data());
        keep_short(came_.data(), n, from);
        weigh_by(next_.data(), dense_.data(), n);
        const float hush = best[top] * moves_.fall_silent;
        const float rest = best[n] * moves_.stay_silent;
        next_[n] = std::max(hush, rest) * e.silent;
        from[n] = static_cast<std::uint16_t>(rest >= hush ? n : top);
        scale_to_one(next_.data(), n + 1);
        std::copy_n(next_.begin(), n + 1, best.begin());
    }

    void forward(const FrameEvidence& e, std::vector<float>& p) {
        const std::size_t n = bins_;
        spread(e, dense_);
        const double voiced = sum_of(p.data(), n);
        const float silent = p[n];
        glide_sum(pad(p), n, moves_.diffuse.data(), moves_.diffuse.size(), next_.data());
        const float anew =
            (static_cast<float>(voiced) * moves_.leap + silent * moves_.begin) * one_of_hypothesis;
        arrive(p.data(), next_.data(), anew, dense_.data(), n);
        p[n] = (static_cast<float>(voiced) * moves_.fall_silent + silent * moves_.stay_silent) *
               e.silent;
        scale_to_one(p.data(), n + 1);
    }

    // p: of the frame `e` (its later evidence) -> of the frame before.
    void backward(const FrameEvidence& e, std::vector<float>& p) {
        const std::size_t n = bins_;
        spread(e, dense_);
        weigh_by(p.data(), dense_.data(), n);
        const double sum = sum_of(p.data(), n);
        const float silent = p[n] * e.silent;
        glide_sum(pad(p), n, moves_.diffuse.data(), moves_.diffuse.size(), next_.data());
        const auto all = static_cast<float>(sum);
        depart(p.data(), next_.data(), all * moves_.leap * one_of_hypothesis,
               silent * moves_.fall_silent, n);
        p[n] = all * moves_.begin * one_of_hypothesis + silent * moves_.stay_silent;
        scale_to_one(p.data(), n + 1);
    }

    std::vector<float> beginning() const {
        std::vector<float> p(bins_ + 1, 0.1F / static_cast<float>(bins_));
        p.back() = 0.9F;
        return p;
    }

  private:
    // The pitches' part of p with room at both ends.
    const float* pad(const std::vector<float>& p) {
        std::copy_n(p.begin(), bins_, padded_.begin() + static_cast<std::ptrdiff_t>(room_));
        return padded_.data() + room_;
    }

    std::size_t bins_;
    Moves moves_;
    std::vector<float> dense_;
    std::size_t room_;
    std::vector<float> padded_;  // zeros beyond both ends
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

    const std::size_t states = n + 1;
    auto from = std::make_unique_for_overwrite<std::uint16_t[]>(frames.size() * states);
    std::vector<float> best = decoder.beginning();
    for (std::size_t i = 0; i < frames.size(); ++i) {
        decoder.advance(frames[i], best, from.get() + i * states);
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
        state = from[i * states + state];
    }
    from.reset();

    const auto near = static_cast<std::size_t>(Cents(50.0) / grid.step);
    std::vector<float> ahead = decoder.beginning();
    std::vector<float> forward(std::min(frames.size(), block) * states);
    const auto forward_of = [&](std::size_t i) { return forward.data() + i % block * states; };
    for (std::size_t first = 0; first < frames.size(); first += block) {
        const std::size_t last = std::min(frames.size(), first + block);
        for (std::size_t i = first; i < last; ++i) {
            decoder.forward(frames[i], ahead);
            std::copy(ahead.begin(), ahead.end(), forward_of(i));
        }
        std::vector<float> behind(n + 1, 1.0F / static_cast<float>(n + 1));
        for (std::size_t i = std::min(frames.size(), last + warm_up); i-- > first + 1;) {
            // `behind` belongs to frame i here.
            if (i < last) weigh_by(forward_of(i), behind.data(), states);
            decoder.backward(frames[i], behind);
        }
        weigh_by(forward_of(first), behind.data(), states);
        for (std::size_t i = first; i < last; ++i) {
            const float* const f = forward_of(i);
            const double all = sum_of(f, states);
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
