// Passes of a self-sorting transform, each over all eight lanes.
#include "engine/transform/eight_ffts.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <numbers>

namespace bentline {

namespace {

std::complex<float> turn(std::size_t steps, std::size_t of) {
    const double angle =
        -2.0 * std::numbers::pi * static_cast<double>(steps) / static_cast<double>(of);
    return {static_cast<float>(std::cos(angle)), static_cast<float>(std::sin(angle))};
}

// One value of each lane.
struct Value {
    Lanes re, im;
};
#define BENTLINE_INLINE inline __attribute__((always_inline))

BENTLINE_INLINE void add(Value& out, const Value& a, const Value& b) {
    out.re = a.re + b.re;
    out.im = a.im + b.im;
}
BENTLINE_INLINE void subtract(Value& out, const Value& a, const Value& b) {
    out.re = a.re - b.re;
    out.im = a.im - b.im;
}
// out = a + i b and a - i b.
BENTLINE_INLINE void add_turned(Value& out, const Value& a, const Value& b) {
    out.re = a.re - b.im;
    out.im = a.im + b.re;
}
BENTLINE_INLINE void subtract_turned(Value& out, const Value& a, const Value& b) {
    out.re = a.re + b.im;
    out.im = a.im - b.re;
}

// Where a pass reads and writes: rows of lanes; those that it reads begin `step` values apart.
struct Rows {
    const float *re, *im;
    float *out_re, *out_im;
    std::size_t step = lanes;
    BENTLINE_INLINE void get(Value& v, std::size_t at) const {
        load(v.re, re + step * at);
        load(v.im, im + step * at);
    }
    // Values that lie `apart`.
    template <std::size_t radix>
    BENTLINE_INLINE void get(std::array<Value, radix>& v, std::size_t at, std::size_t apart) const {
        for (std::size_t k = 0; k < radix; ++k)
            get(v[k], at + k * apart);
    }
    BENTLINE_INLINE void put(std::size_t at, const Value& v) const {
        store(out_re + lanes * at, v.re);
        store(out_im + lanes * at, v.im);
    }
    BENTLINE_INLINE void put(std::size_t at, const Value& v, std::complex<float> by) const {
        store(out_re + lanes * at, v.re * by.real() - v.im * by.imag());
        store(out_im + lanes * at, v.re * by.imag() + v.im * by.real());
    }
};

// In each: length = radix * parts; values parts apart are joined; turns: radix - 1 factors a part.
BENTLINE_WIDE_LANES
void pass_of_two(const Rows& x, std::size_t parts, std::size_t stride,
                 const std::complex<float>* turns) {
    for (std::size_t p = 0; p < parts; ++p) {
        const std::complex<float> w = turns[p];
        for (std::size_t q = 0; q < stride; ++q) {
            std::array<Value, 2> in;
            x.get(in, q + stride * p, stride * parts);
            const auto& [a, b] = in;
            Value v;
            add(v, a, b);
            x.put(q + stride * 2 * p, v);
            subtract(v, a, b);
            x.put(q + stride * (2 * p + 1), v, w);
        }
    }
}

BENTLINE_WIDE_LANES
void pass_of_three(const Rows& x, std::size_t parts, std::size_t stride,
                   const std::complex<float>* turns) {
    constexpr float half_root = std::numbers::sqrt3_v<float> / 2.0F;
    for (std::size_t p = 0; p < parts; ++p) {
        const std::complex<float>* w = turns + 2 * p;
        for (std::size_t q = 0; q < stride; ++q) {
            std::array<Value, 3> in;
            x.get(in, q + stride * p, stride * parts);
            const auto& [a, b, c] = in;
            Value sum;
            add(sum, b, c);
            Value gap;
            subtract(gap, b, c);
            gap.re *= half_root;
            gap.im *= half_root;
            Value v;
            add(v, a, sum);
            x.put(q + stride * 3 * p, v);
            const Value middle{a.re - 0.5F * sum.re, a.im - 0.5F * sum.im};
            subtract_turned(v, middle, gap);
            x.put(q + stride * (3 * p + 1), v, w[0]);
            add_turned(v, middle, gap);
            x.put(q + stride * (3 * p + 2), v, w[1]);
        }
    }
}

BENTLINE_INLINE void turn_by(Value& v, std::complex<float> w) {
    const Value u = v;
    v.re = u.re * w.real() - u.im * w.imag();
    v.im = u.re * w.imag() + u.im * w.real();
}
// In place; w: three factors.
BENTLINE_INLINE void join_four(std::array<Value, 4>& v, const std::complex<float>* w) {
    const auto [a, b, c, d] = v;
    Value even;
    add(even, a, c);
    Value even_gap;
    subtract(even_gap, a, c);
    Value odd;
    add(odd, b, d);
    Value odd_gap;
    subtract(odd_gap, b, d);
    add(v[0], even, odd);
    subtract_turned(v[1], even_gap, odd_gap);
    turn_by(v[1], w[0]);
    subtract(v[2], even, odd);
    turn_by(v[2], w[1]);
    add_turned(v[3], even_gap, odd_gap);
    turn_by(v[3], w[2]);
}

BENTLINE_WIDE_LANES
void pass_of_four(const Rows& x, std::size_t parts, std::size_t stride,
                  const std::complex<float>* turns) {
    for (std::size_t p = 0; p < parts; ++p) {
        for (std::size_t q = 0; q < stride; ++q) {
            std::array<Value, 4> v;
            x.get(v, q + stride * p, stride * parts);
            join_four(v, turns + 3 * p);
            for (std::size_t k = 0; k < 4; ++k)
                x.put(q + stride * (4 * p + k), v[k]);
        }
    }
}

// A pass of four and one of two, without writing and reading in between. turns: those of the pass
// of four, whose parts are twice as many, then those of the pass of two.
BENTLINE_WIDE_LANES
void pass_of_eight(const Rows& x, std::size_t parts, std::size_t stride,
                   const std::complex<float>* turns) {
    const std::complex<float>* const turns_of_two = turns + 6 * parts;
    for (std::size_t p = 0; p < parts; ++p) {
        for (std::size_t q = 0; q < stride; ++q) {
            std::array<Value, 4> a;
            x.get(a, q + stride * p, stride * 2 * parts);
            join_four(a, turns + 3 * p);
            std::array<Value, 4> b;
            x.get(b, q + stride * (p + parts), stride * 2 * parts);
            join_four(b, turns + 3 * (p + parts));
            for (std::size_t k = 0; k < 4; ++k) {
                Value v;
                add(v, a[k], b[k]);
                x.put(q + stride * (8 * p + k), v);
                subtract(v, a[k], b[k]);
                x.put(q + stride * (8 * p + 4 + k), v, turns_of_two[p]);
            }
        }
    }
}

BENTLINE_WIDE_LANES
void pass_of_five(const Rows& x, std::size_t parts, std::size_t stride,
                  const std::complex<float>* turns) {
    const std::complex<float> once = turn(1, 5);
    const std::complex<float> twice = turn(2, 5);
    for (std::size_t p = 0; p < parts; ++p) {
        const std::complex<float>* w = turns + 4 * p;
        for (std::size_t q = 0; q < stride; ++q) {
            std::array<Value, 5> in;
            x.get(in, q + stride * p, stride * parts);
            const auto& [a, b, c, d, e] = in;
            Value outer;
            add(outer, b, e);
            Value outer_gap;
            subtract(outer_gap, b, e);
            Value inner;
            add(inner, c, d);
            Value inner_gap;
            subtract(inner_gap, c, d);
            Value v;
            add(v, outer, inner);
            add(v, a, v);
            x.put(q + stride * 5 * p, v);
            const Value first{a.re + once.real() * outer.re + twice.real() * inner.re,
                              a.im + once.real() * outer.im + twice.real() * inner.im};
            const Value first_gap{once.imag() * outer_gap.re + twice.imag() * inner_gap.re,
                                  once.imag() * outer_gap.im + twice.imag() * inner_gap.im};
            const Value second{a.re + twice.real() * outer.re + once.real() * inner.re,
                               a.im + twice.real() * outer.im + once.real() * inner.im};
            const Value second_gap{twice.imag() * outer_gap.re - once.imag() * inner_gap.re,
                                   twice.imag() * outer_gap.im - once.imag() * inner_gap.im};
            add_turned(v, first, first_gap);
            x.put(q + stride * (5 * p + 1), v, w[0]);
            add_turned(v, second, second_gap);
            x.put(q + stride * (5 * p + 2), v, w[1]);
            subtract_turned(v, second, second_gap);
            x.put(q + stride * (5 * p + 3), v, w[2]);
            subtract_turned(v, first, first_gap);
            x.put(q + stride * (5 * p + 4), v, w[3]);
        }
    }
}

// Even samples were real parts, odd ones imaginary parts; as many bins as are wanted.
BENTLINE_WIDE_LANES
void split(const Rows& x, std::size_t half, std::size_t bins, const std::complex<float>* turns) {
    for (std::size_t k = 0; k < bins; ++k) {
        Value here;
        x.get(here, k % half);
        Value there;
        x.get(there, (half - k) % half);
        const Value even{0.5F * (here.re + there.re), 0.5F * (here.im - there.im)};
        const Value odd{0.5F * (here.im + there.im), 0.5F * (there.re - here.re)};
        const float c = turns[k].real();
        const float s = turns[k].imag();
        const Value v{even.re + (odd.re * c - odd.im * s), even.im + (odd.re * s + odd.im * c)};
        x.put(k, v);
    }
}

BENTLINE_WIDE_LANES
void window_rows(const float* const* from, const float* window, std::size_t n, float* out) {
    for (std::size_t i = 0; i < n; ++i) {
        for (std::size_t k = 0; k < lanes; ++k)
            out[lanes * i + k] = from[k][i] * window[i];
    }
}
#undef BENTLINE_INLINE

}  // namespace

EightFfts::EightFfts(std::size_t size) : size_(size) {
    assert(size >= 2 && size % 2 == 0);
    const std::size_t half = size / 2;
    std::size_t rest = half;
    std::size_t stride = 1;
    const auto add_turns = [this](std::size_t radix, std::size_t length) {
        for (std::size_t p = 0; p < length / radix; ++p) {
            for (std::size_t k = 1; k < radix; ++k)
                turns_.push_back(turn(p * k, length));
        }
    };
    for (const std::size_t radix : {4U, 2U, 3U, 5U}) {
        while (rest % radix == 0) {
            // The last four goes with the two that follows it.
            const bool eight = radix == 4 && rest % 8 == 0 && rest % 16 != 0;
            passes_.push_back({eight ? 8 : radix, rest, stride, turns_.size()});
            add_turns(radix, rest);
            rest /= radix;
            stride *= radix;
            if (!eight) continue;
            add_turns(2, rest);
            rest /= 2;
            stride *= 2;
        }
    }
    assert(rest == 1);
    for (std::size_t k = 0; k <= half; ++k)
        split_.push_back(turn(k, size));
    for (auto* v : {&real_a_, &imaginary_a_, &real_b_, &imaginary_b_})
        v->resize(half * lanes);
}

void EightFfts::forward(std::span<const float> in, std::span<float> real,
                        std::span<float> imaginary) {
    assert(in.size() == size_ * lanes);
    assert(real.size() <= bins() * lanes && imaginary.size() == real.size());
    // Even samples are real parts, odd ones imaginary parts.
    Rows rows{in.data(), in.data() + lanes, real_a_.data(), imaginary_a_.data(), 2 * lanes};
    for (const Pass& pass : passes_) {
        const std::size_t parts = pass.length / pass.radix;
        const std::complex<float>* turns = turns_.data() + pass.turns;
        switch (pass.radix) {
            case 2:
                pass_of_two(rows, parts, pass.stride, turns);
                break;
            case 3:
                pass_of_three(rows, parts, pass.stride, turns);
                break;
            case 4:
                pass_of_four(rows, parts, pass.stride, turns);
                break;
            case 8:
                pass_of_eight(rows, parts, pass.stride, turns);
                break;
            default:
                pass_of_five(rows, parts, pass.stride, turns);
                break;
        }
        const bool into_a = rows.out_re == real_a_.data();
        rows = {rows.out_re, rows.out_im, (into_a ? real_b_ : real_a_).data(),
                (into_a ? imaginary_b_ : imaginary_a_).data(), lanes};
    }
    split({rows.re, rows.im, real.data(), imaginary.data(), rows.step}, size_ / 2,
          real.size() / lanes, split_.data());
}

void EightFfts::cut(std::span<const float> signal, const std::array<std::ptrdiff_t, lanes>& from,
                    std::span<const float> window, std::span<float> out) {
    assert(window.size() == size_ && out.size() == size_ * lanes);
    const auto length = static_cast<std::ptrdiff_t>(signal.size());
    const auto size = static_cast<std::ptrdiff_t>(size_);
    std::array<const float*, lanes> begins;
    for (std::size_t k = 0; k < lanes; ++k) {
        if (from[k] >= 0 && from[k] + size <= length) {
            begins[k] = signal.data() + from[k];
            continue;
        }
        std::vector<float>& part = at_ends_[k];
        part.assign(size_, 0.0F);
        const std::ptrdiff_t first = std::clamp<std::ptrdiff_t>(from[k], 0, length);
        const std::ptrdiff_t last = std::clamp<std::ptrdiff_t>(from[k] + size, first, length);
        std::copy(signal.begin() + first, signal.begin() + last, part.begin() + (first - from[k]));
        begins[k] = part.data();
    }
    window_rows(begins.data(), window.data(), size_, out.data());
}

BENTLINE_WIDE_LANES
void greatest_row(const float* rows, std::size_t first, std::size_t end, float* out) {
    Lanes top{};
    for (std::size_t k = first; k < end; ++k) {
        Lanes v;
        load(v, rows + lanes * k);
        top = top < v ? v : top;
    }
    store(out, top);
}

}  // namespace bentline
