// Layers over moments, and what sums up a moment. Private to lead_net. [any]
#pragma once

#include <cstddef>
#include <vector>

namespace bentline::lead {

// One layer over moments: `taps` frames, `dilation` apart; frames outside are zero.
class FrameLayer {
  public:
    // weights: [out][in][tap].
    FrameLayer(std::size_t ins, std::size_t outs, std::size_t taps, std::size_t dilation,
               const float* weights, const float* biases);

    // One moment of it, rectified. in: all moments, `ins` values each; out: `outs` values.
    void look(const std::vector<float>& in, std::size_t t, float* out) const;

  private:
    std::size_t ins_, outs_, taps_, dilation_;
    std::vector<float> weights_;  // [tap][in][out]
    const float* biases_;
};

// Mean and largest of n values that are at least 0, eight sums side by side.
struct MeanAndLargest {
    float mean, largest;
};
void look_over(MeanAndLargest& out, const float* x, std::size_t n);

// The same sum of products with each of four rows of n values, `apart` from each other, as dot()
// has it.
void dot_four(float* out, const float* by, const float* rows, std::size_t apart, std::size_t n);

}  // namespace bentline::lead
