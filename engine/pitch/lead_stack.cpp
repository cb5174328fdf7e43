// Layers over pitches, moment by moment. Bins lie next to each other, so that the compiler may take
// several at a time without changing the order of any sum.
#include "engine/pitch/lead_stack.h"

#include <algorithm>
#include <array>
#include <cstring>

#include "engine/transform/wide_lanes.h"

namespace bentline::lead {

namespace {

static_assert(stride % 16 == 0 && stride >= pitches);
// The map's bins with room for all partials on both sides.
constexpr std::size_t room_below = 21;
constexpr std::size_t padded_bins = room_below + lead_lowest_bin + stride + 108;
// A patch layer's rows, and the map's with room at both ends for its patches.
constexpr std::size_t patch_length = 272;
constexpr std::size_t plane_size = patch_length + 2;
static_assert(patch_length % 16 == 0 && patch_length >= map_bins);
static_assert(padded_bins >= room_below + patch_length);

BENTLINE_WIDE_LANES
void add_scaled(float* __restrict out, const float* __restrict in, float by, std::size_t n) {
    for (std::size_t i = 0; i < n; ++i)
        out[i] += by * in[i];
}

// Adds to four rows of `length` values (a multiple of 16), `apart` from each other, sums of rows
// that begin at rows[i], by weights[o * skip + i]. Every sum has its own name, or the compiler
// would keep them in memory.
BENTLINE_WIDE_LANES
void add_to_four(float* __restrict out, std::size_t apart, std::size_t length,
                 const float* const* rows, std::size_t ins, const float* weights,
                 std::size_t skip) {
    for (std::size_t b = 0; b < length; b += 2 * lanes) {
        float* const to = out + b;
        Lanes a0;
        load(a0, to);
        Lanes a1;
        load(a1, to + lanes);
        Lanes b0;
        load(b0, to + apart);
        Lanes b1;
        load(b1, to + apart + lanes);
        Lanes c0;
        load(c0, to + 2 * apart);
        Lanes c1;
        load(c1, to + 2 * apart + lanes);
        Lanes d0;
        load(d0, to + 3 * apart);
        Lanes d1;
        load(d1, to + 3 * apart + lanes);
        for (std::size_t i = 0; i < ins; ++i) {
            Lanes x0;
            load(x0, rows[i] + b);
            Lanes x1;
            load(x1, rows[i] + b + lanes);
            const float* w = weights + i;
            a0 += w[0] * x0;
            a1 += w[0] * x1;
            b0 += w[skip] * x0;
            b1 += w[skip] * x1;
            c0 += w[2 * skip] * x0;
            c1 += w[2 * skip] * x1;
            d0 += w[3 * skip] * x0;
            d1 += w[3 * skip] * x1;
        }
        std::memcpy(to, &a0, sizeof a0);
        std::memcpy(to + lanes, &a1, sizeof a1);
        std::memcpy(to + apart, &b0, sizeof b0);
        std::memcpy(to + apart + lanes, &b1, sizeof b1);
        std::memcpy(to + 2 * apart, &c0, sizeof c0);
        std::memcpy(to + 2 * apart + lanes, &c1, sizeof c1);
        std::memcpy(to + 3 * apart, &d0, sizeof d0);
        std::memcpy(to + 3 * apart + lanes, &d1, sizeof d1);
    }
}

void rectify(float* x, std::size_t n) {
    for (std::size_t i = 0; i < n; ++i)
        x[i] = std::max(x[i], 0.0F);
}

// Nine neighbours of each pitch: two and one below, itself, one and two above, and the rivals. in:
// with `reach` zeros before it and behind.
constexpr std::size_t reach = 64;
BENTLINE_WIDE_LANES
void compare_row(float* __restrict out, const float* __restrict in, const float* across,
                 const float* octaves) {
    for (std::size_t b = 0; b < stride; ++b) {
        float sum = across[0] * in[b - 2];
        sum += across[1] * in[b - 1];
        sum += across[2] * in[b];
        sum += across[3] * in[b + 1];
        sum += across[4] * in[b + 2];
        sum += octaves[0] * in[b - 57];
        sum += octaves[1] * in[b - 36];
        sum += octaves[2] * in[b + 36];
        sum += octaves[3] * in[b + 57];
        out[b] = sum;
    }
}
static_assert(rivals == std::array<int, 4>{-57, -36, 36, 57});

// A row over time: before, now, after.
BENTLINE_WIDE_LANES
void blend(float* __restrict out, const float* before, const float* now, const float* after,
           const float* by) {
    for (std::size_t b = 0; b < stride; ++b)
        out[b] = by[0] * before[b] + by[1] * now[b] + by[2] * after[b];
}

BENTLINE_WIDE_LANES
void add_rectified(float* __restrict out, const float* __restrict in, std::size_t n) {
    for (std::size_t i = 0; i < n; ++i)
        out[i] += std::max(in[i], 0.0F);
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

void mix_rows(float* out, std::size_t outs, const float* in, std::size_t ins, const float* weights,
              const float* biases) {
    std::vector<const float*> rows(ins);
    for (std::size_t i = 0; i < ins; ++i)
        rows[i] = in + i * stride;
    for (std::size_t o = 0; o < outs; ++o)
        std::fill(out + o * stride, out + (o + 1) * stride, biases[o]);
    std::size_t o = 0;
    for (; o + 4 <= outs; o += 4)
        add_to_four(out + o * stride, stride, stride, rows.data(), ins, weights + o * ins, ins);
    for (; o < outs; ++o) {
        for (std::size_t i = 0; i < ins; ++i)
            add_scaled(out + o * stride, rows[i], weights[o * ins + i], stride);
    }
}

Stack::Stack(const SoundMap& map, const LeadNet& net)
    : map_(map),
      width_(net.width),
      detail_(net.detail),
      layers_(layers_of(net)),
      key_bias_(net.width * stride),
      local_(net.detail * padded_bins),
      planes_(map_planes * 3 * plane_size),
      deep_((chunk + 2 * halo) * net.width * stride),
      along_(net.width * stride),
      mixed_(net.width * stride) {
    for (std::size_t k = 0; k < blocks; ++k)
        wide_[k].resize((2 * dilations[k] + 1) * net.width * stride);
    const std::size_t ins = net.detail * partials.size() + 2;
    for (std::size_t o = 0; o < net.width; ++o) {
        for (std::size_t b = 0; b < pitches; ++b) {
            const float key =
                -1.0F + 2.0F * static_cast<float>(b) / static_cast<float>(pitches - 1);
            const float* w = layers_.harmonic + o * ins + ins - 2;
            key_bias_[o * stride + b] = layers_.harmonic_bias[o] + w[0] * key + w[1] * key * key;
        }
    }
}

void Stack::compute(std::size_t begin) {
    first_ = begin > halo ? begin - halo : 0;
    const std::size_t end = std::min(map_.frames, begin + chunk + halo);
    // A block takes up a frame as soon as it is given it, so that little is written between a row
    // and its next reader.
    std::array<std::size_t, blocks> compared;
    std::array<std::size_t, blocks> joined;
    compared.fill(first_);
    joined.fill(first_);
    for (std::size_t t = first_; t < end; ++t) {
        gather_partials(t);
        std::size_t given = t + 1;
        for (std::size_t k = 0; k < blocks; ++k) {
            while (compared[k] < given) {
                compare(k, compared[k]++);
                // Nothing lies behind the last frame.
                const std::size_t ready =
                    compared[k] == end ? end : compared[k] - std::min(compared[k], dilations[k]);
                for (; joined[k] < ready; ++joined[k])
                    join(k, joined[k], end);
            }
            given = joined[k];
        }
    }
}

// Patches of three frames and three bins of each plane.
void Stack::look_closely(std::size_t t) {
    // The planes of three frames with a zero at both ends; a frame outside is all zeros.
    std::fill(planes_.begin(), planes_.end(), 0.0F);
    std::array<const float*, map_planes * 9> rows;
    for (std::size_t p = 0; p < map_planes; ++p) {
        for (std::size_t k = 0; k < 3; ++k) {
            float* to = planes_.data() + (p * 3 + k) * plane_size;
            if (t + k >= 1 && t + k - 1 < map_.frames) {
                const auto in = map_.plane(t + k - 1, static_cast<MapPlane>(p));
                std::copy(in.begin(), in.end(), to + 1);
            }
            for (std::size_t f = 0; f < 3; ++f)
                rows[(p * 3 + k) * 3 + f] = to + f;
        }
    }
    for (std::size_t o = 0; o < detail_; ++o) {
        float* out = local_.data() + o * padded_bins + room_below;
        std::fill(out, out + map_bins, layers_.local_bias[o]);
    }
    std::size_t o = 0;
    for (; o + 4 <= detail_; o += 4) {
        add_to_four(local_.data() + o * padded_bins + room_below, padded_bins, patch_length,
                    rows.data(), rows.size(), layers_.local + o * rows.size(), rows.size());
    }
    for (; o < detail_; ++o) {
        for (std::size_t i = 0; i < rows.size(); ++i) {
            add_scaled(local_.data() + o * padded_bins + room_below, rows[i],
                       layers_.local[o * rows.size() + i], map_bins);
        }
    }
    for (o = 0; o < detail_; ++o) {
        float* out = local_.data() + o * padded_bins + room_below;
        rectify(out, map_bins);
        std::fill(out + map_bins, out + patch_length, 0.0F);
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
    std::copy(key_bias_.begin(), key_bias_.end(), out);
    for (std::size_t o = 0; o < width_; o += 4) {
        add_to_four(out + o * stride, stride, stride, starts.data(), ins,
                    layers_.harmonic + o * (ins + 2), ins + 2);
    }
    rectify(out, width_ * stride);
}

// Each pitch with its neighbours and rivals, feature by feature.
void Stack::compare(std::size_t k, std::size_t t) {
    const Layers::Block& block = layers_.block[k];
    std::array<float, stride + 2 * reach> in{};
    for (std::size_t c = 0; c < width_; ++c) {
        const float* from = row(deep_, t) + c * stride;
        std::copy(from, from + pitches, in.begin() + reach);
        compare_row(wide(k, t) + c * stride, in.data() + reach, block.across + c * 5,
                    block.octaves + c * rivals.size());
    }
}

// Each pitch over time, then its features among themselves; added to what it was.
void Stack::join(std::size_t k, std::size_t t, std::size_t end) {
    const Layers::Block& block = layers_.block[k];
    const std::size_t dilation = dilations[k];
    const std::array<float, stride> nothing{};
    for (std::size_t c = 0; c < width_; ++c) {
        const float* before =
            t >= first_ + dilation ? wide(k, t - dilation) + c * stride : nothing.data();
        const float* after =
            t + dilation < end ? wide(k, t + dilation) + c * stride : nothing.data();
        blend(along_.data() + c * stride, before, wide(k, t) + c * stride, after,
              block.along + c * 3);
    }
    mix_rows(mixed_.data(), width_, along_.data(), width_, block.mix, block.bias);
    add_rectified(row(deep_, t), mixed_.data(), mixed_.size());
}

}  // namespace bentline::lead
