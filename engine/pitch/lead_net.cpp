// From features to chances: a first answer, the lead's likeness, the second answer.
#include "engine/pitch/lead_net.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <numeric>

#include "engine/pitch/dot.h"
#include "engine/pitch/lead_frames.h"
#include "engine/pitch/lead_net_weights.h"
#include "engine/pitch/lead_stack.h"

namespace bentline {

namespace {

using lead::chunk;
using lead::FrameLayer;
using lead::Layers;
using Floats = std::vector<float>;
constexpr std::size_t P = lead_pitches;
constexpr std::size_t row_size = LeadView::row;
constexpr std::size_t pool_reach = 200;  // frames to each side that make up the likeness
constexpr std::array<std::size_t, 3> frame_dilations = {1, 4, 12};
constexpr std::size_t frame_reach = 17;
// What is known of the lead counts as much as this many clear frames nearby, and half of it where
// so many are known.
constexpr double taught_frames = 100.0;
constexpr double taught_least = 25.0;

// Scores of the pitches and of rest become chances, in place; returns the logarithm of the sum over
// the pitches of the scores' exponentials.
float to_chances(float* scores) {
    const float most = *std::max_element(scores, scores + row_size);
    double sum = 0.0;
    for (std::size_t i = 0; i < row_size; ++i) {
        scores[i] = std::exp(scores[i] - most);
        if (i < P) sum += static_cast<double>(scores[i]);
    }
    const double all = sum + static_cast<double>(scores[P]);
    for (std::size_t i = 0; i < row_size; ++i)
        scores[i] = static_cast<float>(static_cast<double>(scores[i]) / all);
    return most + static_cast<float>(std::log(sum + 1e-30));
}

class Viewer {
  public:
    Viewer(const SoundMap& map, const LeadNet& net)
        : map_(map),
          net_(net),
          l_(lead::layers_of(net)),
          stack_(map, net),
          frames_(map.frames),
          scores_(frames_ * row_size),
          frame_in_(frames_ * (2 * net.width + 1)),
          pooled_(frames_ * (net.width + 1)),
          end_in_(frames_ * (net.context + net.likeness + lead::sums)) {
        for (std::size_t k = 0; k < frame_dilations.size(); ++k) {
            frame_layers_.emplace_back(k == 0 ? 2 * net.width + 1 : net.context, net.context, 3,
                                       frame_dilations[k], l_.frame[k], l_.frame_bias[k]);
        }
        for (Floats& f : context_)
            f.resize(frames_ * net.context);
        for (Floats& k : kept_)
            k.resize(chunk * net.width * lead::stride);
    }

    // Takes what the lead is like from where he is known.
    void learn(KnownPitches known) {
        const std::size_t n = net_.width + 1;
        std::vector<double> sum(n, 0.0);
        double moments = 0.0;
        for (std::size_t begin = 0; begin < frames_; begin += chunk) {
            const std::size_t end = std::min(frames_, begin + chunk);
            const auto any = known.subspan(begin, end - begin);
            if (std::none_of(any.begin(), any.end(), [](const auto& k) { return k.has_value(); }))
                continue;
            stack_.compute(begin);
            for (std::size_t t = begin; t < end; ++t) {
                if (!known[t]) continue;
                const std::array<float, P> chances = chances_within(*known[t], t);
                for (std::size_t c = 0; c < net_.width; ++c)
                    sum[c] += static_cast<double>(
                        dot(chances.data(), stack_.features(t) + c * lead::stride, P));
                moments +=
                    static_cast<double>(std::accumulate(chances.begin(), chances.end(), 0.0F));
            }
        }
        if (!(moments > 0.0)) return;
        const double weight = taught_frames * moments / (moments + taught_least);
        for (double& v : sum)
            v *= weight / moments;
        sum[net_.width] = weight;
        taught_ = std::move(sum);
    }

    Result<LeadView> run(const Work& work) {
        for (std::size_t begin = 0; begin < frames_; begin += chunk) {
            const std::size_t end = std::min(frames_, begin + chunk);
            first_answers(begin, end);
            follow_context(end);
            if (begin > 0) second_answers(begin - chunk, begin);
            if (end == frames_) second_answers(begin, end);
            if (!work.report(static_cast<double>(end) / static_cast<double>(frames_)))
                return stopped_failure();
        }
        return finished();
    }

  private:
    // The first answer for one moment, among some pitches only.
    std::array<float, P> chances_within(Range<Pitch> pitches, std::size_t t) const {
        std::array<float, lead::stride> scores;
        lead::mix_rows(scores.data(), 1, stack_.features(t), net_.width, l_.first, l_.first_bias);
        const auto inside = [&](std::size_t b) {
            const Pitch p = lead_lowest + Cents(100.0 / map_per_semitone) * static_cast<double>(b);
            return p >= pitches.from && p <= pitches.to;
        };
        float most = -1e9F;
        for (std::size_t b = 0; b < P; ++b)
            most = inside(b) ? std::max(most, scores[b]) : most;
        std::array<float, P> chances{};
        float all = 0.0F;
        for (std::size_t b = 0; b < P; ++b) {
            chances[b] = inside(b) ? std::exp(scores[b] - most) : 0.0F;
            all += chances[b];
        }
        for (float& c : chances)
            c = all > 0.0F ? c / all : 0.0F;
        return chances;
    }

    const float* features(std::size_t t) const {
        return kept_[t / chunk % 2].data() + t % chunk * net_.width * lead::stride;
    }
    const float* context(std::size_t t) const { return context_[2].data() + t * net_.context; }

    void first_answers(std::size_t begin, std::size_t end) {
        stack_.compute(begin);
        const std::size_t size = net_.width * lead::stride;
        std::copy(stack_.features(begin), stack_.features(begin) + (end - begin) * size,
                  kept_[begin / chunk % 2].begin());
        for (std::size_t t = begin; t < end; ++t) {
            const float* h = features(t);
            std::array<float, lead::stride> scores;
            lead::mix_rows(scores.data(), 1, h, net_.width, l_.first, l_.first_bias);
            std::copy(scores.begin(), scores.begin() + P,
                      scores_.begin() + static_cast<std::ptrdiff_t>(t * row_size));
            float* in = frame_in_.data() + t * (2 * net_.width + 1);
            for (std::size_t c = 0; c < net_.width; ++c) {
                const float* row = h + c * lead::stride;
                lead::MeanAndLargest seen;
                lead::look_over(seen, row, P);
                in[c] = seen.largest;
                in[net_.width + c] = seen.mean;
            }
            lead::MeanAndLargest loudness;
            lead::look_over(loudness, map_.plane(t, map_loudness).data(), map_bins);
            in[2 * net_.width] = loudness.mean;
        }
    }

    // The moments' own features as far as the frames up to `end` allow, and with them what the
    // likeness is summed from.
    void follow_context(std::size_t end) {
        std::size_t ready = end;
        for (std::size_t k = 0; k < 3; ++k) {
            ready = end == frames_ ? end : ready - frame_dilations[k];
            const Floats& in = k == 0 ? frame_in_ : context_[k - 1];
            for (std::size_t& t = done_[k]; t < ready; ++t) {
                float* out = context_[k].data() + t * net_.context;
                frame_layers_[k].look(in, t, out);
                for (std::size_t i = 0; k > 0 && i < net_.context; ++i)
                    out[i] += in[t * net_.context + i];
            }
        }
        for (; pooled_done_ < ready; ++pooled_done_)
            pool(pooled_done_);
    }

    void pool(std::size_t t) {
        float* scores = scores_.data() + t * row_size;
        scores[P] = dot(l_.first_silence, context(t), net_.context) + l_.first_silence_bias[0];
        std::array<float, row_size> chances;
        std::copy(scores, scores + row_size, chances.begin());
        to_chances(chances.data());
        float* end = end_in_.data() + t * (net_.context + net_.likeness + lead::sums);
        end[net_.context + net_.likeness + 1] =
            *std::max_element(chances.begin(), chances.begin() + P);
        for (float& p : chances)
            p *= p;
        // The likeness is linear in the features: summing these first spares work.
        float* pooled = pooled_.data() + t * (net_.width + 1);
        std::size_t c = 0;
        for (; c + 4 <= net_.width; c += 4) {
            lead::dot_four(pooled + c, chances.data(), features(t) + c * lead::stride, lead::stride,
                           P);
        }
        for (; c < net_.width; ++c)
            pooled[c] = dot(chances.data(), features(t) + c * lead::stride, P);
        float sum = 0.0F;
        for (std::size_t b = 0; b < P; ++b)
            sum += chances[b];
        pooled[net_.width] = sum;
    }

    // The lead's likeness around a moment.
    Floats likeness(std::size_t t) {
        const std::size_t n = net_.width + 1;
        const std::size_t from = t > pool_reach ? t - pool_reach : 0;
        const std::size_t to = std::min(frames_, t + pool_reach + 1);
        std::vector<double>& sum = running_;
        if (sum.empty()) sum.assign(n, 0.0);
        for (; pool_to_ < to; ++pool_to_) {
            for (std::size_t i = 0; i < n; ++i)
                sum[i] += static_cast<double>(pooled_[pool_to_ * n + i]);
        }
        for (; pool_from_ < from; ++pool_from_) {
            for (std::size_t i = 0; i < n; ++i)
                sum[i] -= static_cast<double>(pooled_[pool_from_ * n + i]);
        }
        std::vector<double> all = sum;
        for (std::size_t i = 0; i < taught_.size(); ++i)
            all[i] += taught_[i];
        return likeness_from(all);
    }

    Floats likeness_from(const std::vector<double>& sum) const {
        Floats m(net_.likeness);
        const double weight = sum[net_.width] + 0.1;
        for (std::size_t k = 0; k < net_.likeness; ++k) {
            double v = static_cast<double>(l_.like_bias[k]) * sum[net_.width];
            for (std::size_t c = 0; c < net_.width; ++c)
                v += static_cast<double>(l_.like[k * net_.width + c]) * sum[c];
            m[k] = static_cast<float>(v / weight);
        }
        return m;
    }

    void second_answers(std::size_t begin, std::size_t end) {
        const std::size_t w = net_.width;
        const std::size_t e = net_.likeness;
        const std::size_t ins = w + 2 * e;
        Floats both(ins * lead::stride);
        Floats z(w * lead::stride);
        Floats bias(w);
        for (std::size_t t = begin; t < end; ++t) {
            const Floats m = likeness(t);
            const float* h = features(t);
            std::copy(h, h + w * lead::stride, both.begin());
            float* like = both.data() + w * lead::stride;
            lead::mix_rows(like, e, h, w, l_.like, l_.like_bias);
            for (std::size_t k = 0; k < e; ++k) {
                for (std::size_t b = 0; b < P; ++b)
                    like[(e + k) * lead::stride + b] = like[k * lead::stride + b] * m[k];
            }
            for (std::size_t o = 0; o < w; ++o) {
                const float* by_frame = l_.second_frame + o * (e + net_.context);
                bias[o] = l_.second_bias[o] + dot(by_frame, m.data(), e) +
                          dot(by_frame + e, context(t), net_.context);
            }
            lead::mix_rows(z.data(), w, both.data(), ins, l_.second, bias.data());
            for (float& v : z)
                v = std::max(v, 0.0F);
            std::array<float, lead::stride> more;
            lead::mix_rows(more.data(), 1, z.data(), w, l_.last, l_.last_bias);
            float* scores = scores_.data() + t * row_size;
            float* in = end_in_.data() + t * (net_.context + e + lead::sums);
            std::copy(context(t), context(t) + net_.context, in);
            std::copy(m.begin(), m.end(), in + net_.context);
            in[net_.context + e + 2] = 0.1F * scores[P];
            for (std::size_t b = 0; b < P; ++b)
                scores[b] += more[b];
            std::array<float, row_size> copy;
            std::copy(scores, scores + row_size, copy.begin());
            in[net_.context + e] = 0.1F * to_chances(copy.data());
        }
    }

    LeadView finished() {
        const FrameLayer layer(net_.context + net_.likeness + lead::sums, lead::end_width,
                               lead::end_taps, 1, l_.end1, l_.end1_bias);
        LeadView view;
        view.frames = frames_;
        for (std::size_t t = 0; t < frames_; ++t) {
            std::array<float, lead::end_width> g;
            layer.look(end_in_, t, g.data());
            float* scores = scores_.data() + t * row_size;
            scores[P] += dot(l_.end2, g.data(), g.size()) + l_.end2_bias[0];
            to_chances(scores);
        }
        view.chances = std::move(scores_);
        return view;
    }

    const SoundMap& map_;
    const LeadNet& net_;
    Layers l_;
    lead::Stack stack_;
    std::vector<FrameLayer> frame_layers_;
    std::size_t frames_;
    Floats scores_;
    Floats frame_in_;
    std::array<Floats, 3> context_;
    std::array<std::size_t, 3> done_{};
    Floats pooled_;
    std::size_t pooled_done_ = 0;
    std::vector<double> running_;
    std::vector<double> taught_;  // as running_: of where the lead is known
    std::size_t pool_from_ = 0;
    std::size_t pool_to_ = 0;
    Floats end_in_;
    std::array<Floats, 2> kept_;
};

static_assert(chunk >= pool_reach + frame_reach);

}  // namespace

std::size_t LeadNet::parameters_needed() const {
    return lead::layers_of(*this).count;
}

const LeadNet& trained_lead_net() {
    static const LeadNet net{lead_net_width, lead_net_detail, lead_net_likeness, lead_net_context,
                             trained_lead_net_parameters};
    return net;
}

std::size_t lead_frames(Seconds duration) {
    return static_cast<std::size_t>(std::ceil(duration / map_hop - 1e-9));
}

Result<LeadView> view_lead(const WorkingSignal& sound, std::size_t margin, Seconds duration,
                           KnownPitches known, const Work& work) {
    const auto map = sound_map(sound, margin, lead_frames(duration), work.part(0.0, 0.3));
    if (!map) return map.failure();
    return view_lead(*map, trained_lead_net(), known, work.part(0.3, 1.0));
}

Result<LeadView> view_lead(const SoundMap& map, const LeadNet& net, KnownPitches known,
                           const Work& work) {
    assert(net.parameters.size() == net.parameters_needed());
    assert(known.empty() || known.size() == map.frames);
    if (map.frames == 0) return LeadView{};
    Viewer viewer(map, net);
    if (!known.empty()) viewer.learn(known);
    return viewer.run(work);
}

}  // namespace bentline
