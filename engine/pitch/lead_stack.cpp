// Layers over pitches, moment by moment. Bins lie next to each other, so that the compiler may take
// several at a time without changing the order of any sum.
#include "engine/pitch/lead_stack.h"

#include <algorithm>
#include <cstdlib>

namespace bentline::lead {

namespace {

// Bins that are summed together.
constexpr std::size_t tile = 12;
static_assert(pitches % tile == 0);
// The map's bins with room for all partials on both sides.
constexpr std::size_t room_below = 21;
constexpr std::size_t padded_bins = room_below + lead_lowest_bin + pitches + 108;
static_assert(padded_bins >= room_below + map_bins);

void add_scaled(float* __restrict out, const float* __restrict in, float by, std::size_t n) {
    for (std::size_t i = 0; i < n; ++i)
        out[i] += by * in[i];
}

void rectify(float* x, std::size_t n) {
    for (std::size_t i = 0; i < n; ++i)
        x[i] = std::max(x[i], 0.0F);
}

// out[b] += by * in[b + shift], for all b for which that exists.
void add_shifted(float* out, const float* in, int shift, float by) {
    const auto size = static_cast<std::size_t>(std::abs(shift));
    if (shift >= 0)
        add_scaled(out, in + size, by, pitches - size);
    else
        add_scaled(out + size, in, by, pitches - size);
}

}  // namespace

Layers layers_of(const LeadNet& net) {
    const std::size_t w = net.width;
    const std::size_t c = net.context;
    Layers l{};
    const auto take = [&](std::size_t n) {
        const float* at = net.parameters.data() + l.count;
        l.count += n;
        return at;
    };
    l.local = take(net.detail * map_planes * 9);
    l.local_bias = take(net.detail);
    l.harmonic = take(w * (net.detail * partials.size() + 2));
    l.harmonic_bias = take(w);
    for (Layers::Block& b : l.block) {
        b.across = take(w * 5);
        b.octaves = take(w * rivals.size());
        b.along = take(w * 3);
        b.mix = take(w * w);
        b.bias = take(w);
    }
    l.first = take(w);
    l.first_bias = take(1);
    for (std::size_t k = 0; k < 3; ++k) {
        l.frame[k] = take(c * (k == 0 ? 2 * w + 1 : c) * 3);
        l.frame_bias[k] = take(c);
    }
    l.first_silence = take(c);
    l.first_silence_bias = take(1);
    l.like = take(net.likeness * w);
    l.like_bias = take(net.likeness);
    l.second = take(w * (w + 2 * net.likeness));
    l.second_bias = take(w);
    l.second_frame = take(w * (net.likeness + c));
    l.last = take(w);
    l.last_bias = take(1);
    l.end1 = take(end_width * (c + net.likeness + sums) * end_taps);
    l.end1_bias = take(end_width);
    l.end2 = take(end_width);
    l.end2_bias = take(1);
    return l;
}

// `Outs` outputs from o of one layer, whose input row i begins at rows(i).
template <std::size_t Outs, class Rows>
void sum_tile(float (&sum)[Outs][tile], const float* weights, std::size_t ins, std::size_t stride,
              const Rows& rows) {
    for (std::size_t i = 0; i < ins; ++i) {
        const float* row = rows(i);
        for (std::size_t o = 0; o < Outs; ++o) {
            const float w = weights[o * stride + i];
            for (std::size_t k = 0; k < tile; ++k)
                sum[o][k] += w * row[k];
        }
    }
}

void mix_rows(float* __restrict out, std::size_t outs, const float* __restrict in, std::size_t ins,
              const float* weights, const float* biases) {
    const auto some = [&]<std::size_t Outs>(std::size_t first) {
        for (std::size_t b = 0; b < pitches; b += tile) {
            float sum[Outs][tile];
            for (std::size_t o = 0; o < Outs; ++o)
                std::fill(sum[o], sum[o] + tile, biases[first + o]);
            sum_tile(sum, weights + first * ins, ins, ins,
                     [&](std::size_t i) { return in + i * pitches + b; });
            for (std::size_t o = 0; o < Outs; ++o)
                std::copy(sum[o], sum[o] + tile, out + (first + o) * pitches + b);
        }
    };
    std::size_t o = 0;
    for (; o + 4 <= outs; o += 4)
        some.template operator()<4>(o);
    for (; o < outs; ++o)
        some.template operator()<1>(o);
}

Stack::Stack(const SoundMap& map, const LeadNet& net)
    : map_(map),
      width_(net.width),
      detail_(net.detail),
      layers_(layers_of(net)),
      key_bias_(net.width * pitches),
      local_(net.detail * padded_bins),
      deep_((chunk + 2 * halo) * net.width * pitches),
      wide_((chunk + 2 * halo) * net.width * pitches) {
    const std::size_t ins = net.detail * partials.size() + 2;
    for (std::size_t o = 0; o < net.width; ++o) {
        for (std::size_t b = 0; b < pitches; ++b) {
            const float key =
                -1.0F + 2.0F * static_cast<float>(b) / static_cast<float>(pitches - 1);
            const float* w = layers_.harmonic + o * ins + ins - 2;
            key_bias_[o * pitches + b] = layers_.harmonic_bias[o] + w[0] * key + w[1] * key * key;
        }
    }
}

void Stack::compute(std::size_t begin) {
    first_ = begin > halo ? begin - halo : 0;
    const std::size_t end = std::min(map_.frames, begin + chunk + halo);
    for (std::size_t t = first_; t < end; ++t)
        gather_partials(t);
    for (std::size_t k = 0; k < blocks; ++k) {
        for (std::size_t t = first_; t < end; ++t)
            compare(layers_.block[k], t);
        for (std::size_t t = first_; t < end; ++t)
            join(layers_.block[k], dilations[k], t, end);
    }
}

// Patches of three frames and three bins of each plane.
void Stack::look_closely(std::size_t t) {
    std::fill(local_.begin(), local_.end(), 0.0F);
    for (std::size_t o = 0; o < detail_; ++o) {
        float* out = local_.data() + o * padded_bins + room_below;
        std::fill(out, out + map_bins, layers_.local_bias[o]);
        for (std::size_t p = 0; p < map_planes; ++p) {
            for (std::size_t k = 0; k < 3; ++k) {
                if (t + k < 1 || t + k - 1 >= map_.frames) continue;
                const float* in = map_.plane(t + k - 1, static_cast<MapPlane>(p)).data();
                const float* w = layers_.local + ((o * map_planes + p) * 3 + k) * 3;
                add_scaled(out + 1, in, w[0], map_bins - 1);
                add_scaled(out, in, w[1], map_bins);
                add_scaled(out, in + 1, w[2], map_bins - 1);
            }
        }
        rectify(out, map_bins);
    }
}

void Stack::gather_partials(std::size_t t) {
    look_closely(t);
    const std::size_t ins = detail_ * partials.size();
    float* out = row(deep_, t);
    std::vector<const float*> starts;
    for (const int shift : partials) {
        for (std::size_t i = 0; i < detail_; ++i) {
            const int from = static_cast<int>(room_below + lead_lowest_bin) + shift;
            starts.push_back(local_.data() + i * padded_bins + from);
        }
    }
    for (std::size_t o = 0; o < width_; o += 4) {
        for (std::size_t b = 0; b < pitches; b += tile) {
            float sum[4][tile];
            for (std::size_t k = 0; k < 4; ++k) {
                const float* bias = key_bias_.data() + (o + k) * pitches + b;
                std::copy(bias, bias + tile, sum[k]);
            }
            sum_tile(sum, layers_.harmonic + o * (ins + 2), ins, ins + 2,
                     [&](std::size_t i) { return starts[i] + b; });
            for (std::size_t k = 0; k < 4; ++k) {
                for (std::size_t i = 0; i < tile; ++i)
                    out[(o + k) * pitches + b + i] = std::max(sum[k][i], 0.0F);
            }
        }
    }
}

// Each pitch with its neighbours and rivals, feature by feature.
void Stack::compare(const Layers::Block& block, std::size_t t) {
    for (std::size_t c = 0; c < width_; ++c) {
        const float* in = row(deep_, t) + c * pitches;
        float* out = row(wide_, t) + c * pitches;
        std::fill(out, out + pitches, 0.0F);
        for (int k = 0; k < 5; ++k)
            add_shifted(out, in, k - 2, block.across[c * 5 + static_cast<std::size_t>(k)]);
        for (std::size_t k = 0; k < rivals.size(); ++k)
            add_shifted(out, in, rivals[k], block.octaves[c * rivals.size() + k]);
    }
}

// Each pitch over time, then its features among themselves; added to what it was.
void Stack::join(const Layers::Block& block, std::size_t dilation, std::size_t t, std::size_t end) {
    const std::size_t size = width_ * pitches;
    along_.assign(size, 0.0F);
    for (std::size_t c = 0; c < width_; ++c) {
        const float* w = block.along + c * 3;
        float* out = along_.data() + c * pitches;
        if (t >= first_ + dilation)
            add_scaled(out, row(wide_, t - dilation) + c * pitches, w[0], pitches);
        add_scaled(out, row(wide_, t) + c * pitches, w[1], pitches);
        if (t + dilation < end)
            add_scaled(out, row(wide_, t + dilation) + c * pitches, w[2], pitches);
    }
    mixed_.resize(size);
    mix_rows(mixed_.data(), width_, along_.data(), width_, block.mix, block.bias);
    float* out = row(deep_, t);
    for (std::size_t i = 0; i < size; ++i)
        out[i] += std::max(mixed_[i], 0.0F);
}

}  // namespace bentline::lead
