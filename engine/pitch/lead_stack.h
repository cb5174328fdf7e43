// The parameters of the lead network by layer, and its features of each pitch. Private to lead_net.
#pragma once

#include <array>
#include <cstddef>
#include <vector>

#include "engine/pitch/lead_net.h"

namespace bentline::lead {

inline constexpr std::size_t pitches = lead_pitches;
// A row of pitches in memory is this long, so that registers fit; what lies behind the pitches says
// nothing.
inline constexpr std::size_t stride = 192;
// Where partials 1/3, 1/2, 1 to 6 and 8 of a pitch lie, in bins from it.
inline constexpr std::array<int, 9> partials = {-57, -36, 0, 36, 57, 72, 84, 93, 108};
// The neighbours that are taken for a pitch most easily: a twelfth and an octave to both sides.
inline constexpr std::array<int, 4> rivals = {-57, -36, 36, 57};
inline constexpr std::size_t blocks = 3;
inline constexpr std::array<std::size_t, blocks> dilations = {1, 3, 8};
inline constexpr std::size_t end_width = 16;
inline constexpr std::size_t end_taps = 5;
inline constexpr std::size_t sums = 3;
// Frames computed together, and how many more on both sides are looked at.
inline constexpr std::size_t chunk = 512;
inline constexpr std::size_t halo = 13;

struct Layers {
    struct Block {
        const float *across, *octaves, *along, *mix, *bias;
    };
    const float *local, *local_bias;        // [detail][plane][frame][bin]
    const float *harmonic, *harmonic_bias;  // [width][partial, detail; key, key^2]
    std::array<Block, blocks> block;
    const float *first, *first_bias;
    std::array<const float*, 3> frame, frame_bias;
    const float *first_silence, *first_silence_bias;
    const float *like, *like_bias;
    const float *second, *second_bias, *second_frame;
    const float *last, *last_bias;
    const float *end1, *end1_bias, *end2, *end2_bias;
    std::size_t count = 0;  // of all parameters
};
Layers layers_of(const LeadNet& net);

// out: `outs` rows of `stride` values; in: `ins` rows. Sums by weights [out][in], and biases.
void mix_rows(float* out, std::size_t outs, const float* in, std::size_t ins, const float* weights,
              const float* biases);

// The features of each pitch, for one stretch of frames after the other.
class Stack {
  public:
    Stack(const SoundMap& map, const LeadNet& net);

    // Computes frames from `begin`, at most `chunk`; features(t) is then good for these: `width`
    // rows of `stride` values.
    void compute(std::size_t begin);
    const float* features(std::size_t t) const { return row(deep_, t); }

  private:
    const float* row(const std::vector<float>& of, std::size_t t) const {
        return of.data() + (t - first_) * width_ * stride;
    }
    float* row(std::vector<float>& of, std::size_t t) {
        return of.data() + (t - first_) * width_ * stride;
    }
    void look_closely(std::size_t t);
    void gather_partials(std::size_t t);
    // A block's comparison of one frame; kept until `dilation` frames later it has been joined.
    float* wide(std::size_t block, std::size_t t) {
        return wide_[block].data() + t % (2 * dilations[block] + 1) * width_ * stride;
    }
    void compare(std::size_t block, std::size_t t);
    void join(std::size_t block, std::size_t t, std::size_t end);

    const SoundMap& map_;
    std::size_t width_;
    std::size_t detail_;
    Layers layers_;
    std::vector<float> key_bias_;
    std::vector<float> local_;
    std::vector<float> planes_;
    std::vector<float> deep_;
    std::array<std::vector<float>, blocks> wide_;
    std::vector<float> along_;
    std::vector<float> mixed_;
    std::size_t first_ = 0;
};

}  // namespace bentline::lead
