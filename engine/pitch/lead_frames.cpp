// Several outputs, or several values of a row, share a register; no sum changes its order by it.
#include "engine/pitch/lead_frames.h"

#include <algorithm>

#include "engine/transform/wide_lanes.h"

namespace bentline::lead {

namespace {

// What one tap of a layer over moments adds to each of its outputs: out[o] += sum over i of
// weights[i * outs + o] * in[i]. Outputs lie side by side; each has its own sum.
BENTLINE_WIDE_LANES
void add_tap(float* out, std::size_t outs, const float* in, std::size_t ins, const float* weights) {
    std::size_t o = 0;
    for (; o + lanes <= outs; o += lanes) {
        Lanes sum{};
        for (std::size_t i = 0; i < ins; ++i) {
            Lanes w;
            load(w, weights + i * outs + o);
            sum += w * in[i];
        }
        Lanes v;
        load(v, out + o);
        v += sum;
        store(out + o, v);
    }
    for (; o < outs; ++o) {
        float sum = 0.0F;
        for (std::size_t i = 0; i < ins; ++i)
            sum += weights[i * outs + o] * in[i];
        out[o] += sum;
    }
}

}  // namespace

FrameLayer::FrameLayer(std::size_t ins, std::size_t outs, std::size_t taps, std::size_t dilation,
                       const float* weights, const float* biases)
    : ins_(ins),
      outs_(outs),
      taps_(taps),
      dilation_(dilation),
      weights_(taps * ins * outs),
      biases_(biases) {
    for (std::size_t o = 0; o < outs; ++o) {
        for (std::size_t i = 0; i < ins; ++i) {
            for (std::size_t k = 0; k < taps; ++k)
                weights_[(k * ins + i) * outs + o] = weights[(o * ins + i) * taps + k];
        }
    }
}

void FrameLayer::look(const std::vector<float>& in, std::size_t t, float* out) const {
    const std::size_t frames = in.size() / ins_;
    const std::size_t middle = taps_ / 2;
    std::copy(biases_, biases_ + outs_, out);
    for (std::size_t k = 0; k < taps_; ++k) {
        const std::size_t at = t + k * dilation_;
        if (at < middle * dilation_) continue;
        if (at - middle * dilation_ >= frames) continue;
        const float* row = in.data() + (at - middle * dilation_) * ins_;
        add_tap(out, outs_, row, ins_, weights_.data() + k * ins_ * outs_);
    }
    for (std::size_t o = 0; o < outs_; ++o)
        out[o] = std::max(out[o], 0.0F);
}

BENTLINE_WIDE_LANES
void look_over(MeanAndLargest& out, const float* x, std::size_t n) {
    Lanes sum{};
    Lanes most{};
    std::size_t i = 0;
    for (; i + lanes <= n; i += lanes) {
        Lanes v;
        load(v, x + i);
        sum += v;
        most = most < v ? v : most;
    }
    out = {0.0F, 0.0F};
    for (; i < n; ++i) {
        out.mean += x[i];
        out.largest = std::max(out.largest, x[i]);
    }
    for (std::size_t k = 0; k < lanes; ++k) {
        out.mean += sum[k];
        out.largest = std::max(out.largest, most[k]);
    }
    out.mean /= static_cast<float>(n);
}

BENTLINE_WIDE_LANES
void dot_four(float* out, const float* by, const float* rows, std::size_t apart, std::size_t n) {
    Lanes sums[4] = {};
    std::size_t i = 0;
    for (; i + lanes <= n; i += lanes) {
        Lanes b;
        load(b, by + i);
        for (std::size_t r = 0; r < 4; ++r) {
            Lanes v;
            load(v, rows + r * apart + i);
            sums[r] += b * v;
        }
    }
    for (std::size_t r = 0; r < 4; ++r) {
        float sum = 0.0F;
        for (std::size_t k = i; k < n; ++k)
            sum += by[k] * rows[r * apart + k];
        for (std::size_t k = 0; k < lanes; ++k)
            sum += sums[r][k];
        out[r] = sum;
    }
}

}  // namespace bentline::lead
