// A straight line with one sinusoid on it.
#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <limits>
#include <numbers>

#include "engine/notes/line_models.h"
#include "engine/notes/line_points.h"
#include "engine/transform/wide_lanes.h"

namespace bentline::notes {

namespace {

using Four = double __attribute__((vector_size(32)));

// What a line is fitted with at one point: {1, slope, cosine, sine}.
using Terms = std::array<double, 4>;

// Sums of the normal equations, their right side, and of the squares.
struct NormalSums {
    std::array<Terms, 4> left{};
    Terms right{};
    double squares = 0.0;
};

BENTLINE_WIDE_LANES
void add_up(NormalSums& out, const Terms* terms, const double* y, const double* w, std::size_t n) {
    Four r0{};
    Four r1{};
    Four r2{};
    Four r3{};
    Four right{};
    double squares = 0.0;
    for (std::size_t i = 0; i < n; ++i) {
        Four f;
        std::memcpy(&f, terms + i, sizeof f);
        const Four weighted = w[i] * f;
        r0 += w[i] * f;
        r1 += weighted[1] * f;
        r2 += weighted[2] * f;
        r3 += weighted[3] * f;
        right += weighted * y[i];
        squares += w[i] * y[i] * y[i];
    }
    std::memcpy(&out.left[0], &r0, sizeof r0);
    std::memcpy(&out.left[1], &r1, sizeof r1);
    std::memcpy(&out.left[2], &r2, sizeof r2);
    std::memcpy(&out.left[3], &r3, sizeof r3);
    std::memcpy(&out.right, &right, sizeof right);
    out.squares = squares;
}

struct Solved {
    double misfit = std::numeric_limits<double>::infinity();
    double depth = 0.0;
};

// By the first `terms` of the terms, by elimination.
Solved solve(const NormalSums& sums, std::size_t terms, double weight) {
    std::array<std::array<double, 5>, 4> m{};
    for (std::size_t r = 0; r < terms; ++r) {
        std::copy_n(sums.left[r].begin(), terms, m[r].begin());
        m[r][4] = sums.right[r];
    }
    for (std::size_t c = 0; c < terms; ++c) {
        if (std::abs(m[c][c]) < 1e-9 * weight) return {};
        for (std::size_t r = c + 1; r < terms; ++r) {
            const double k = m[r][c] / m[c][c];
            for (std::size_t j = c; j < 5; ++j)
                m[r][j] -= k * m[c][j];
        }
    }
    Terms x{};
    for (std::size_t c = terms; c-- > 0;) {
        double v = m[c][4];
        for (std::size_t j = c + 1; j < terms; ++j)
            v -= m[c][j] * x[j];
        x[c] = v / m[c][c];
    }
    double explained = 0.0;
    for (std::size_t r = 0; r < terms; ++r)
        explained += x[r] * sums.right[r];
    return {std::max(0.0, sums.squares - explained), std::hypot(x[2], x[3])};
}

// Points of a line beside a sinusoid of one rate after the other.
class ShakenLine {
  public:
    explicit ShakenLine(const Points& p)
        : p_(p),
          middle_(0.5 * (p.t.front() + p.t.back())),
          half_(0.5 * (p.t.back() - p.t.front())),
          base_(p.y[p.y.size() / 2]),
          y_(p.y),
          terms_(p.t.size()) {
        for (double& y : y_)
            y -= base_;
        for (std::size_t i = 0; i < terms_.size(); ++i)
            terms_[i] = {1.0, (p.t[i] - middle_) / half_, 1.0, 0.0};
    }

    double base() const { return base_; }
    double half() const { return half_; }  // of its duration

    double straight_misfit() const { return solved(2).misfit; }

    Solved at(double rate) {
        for (std::size_t i = 0; i < terms_.size(); ++i) {
            const double angle = 2.0 * std::numbers::pi * rate * (p_.t[i] - middle_);
            terms_[i][2] = std::cos(angle);
            terms_[i][3] = std::sin(angle);
        }
        return solved(4);
    }

    // The best of rates `step` apart. Each sinusoid is the one before, turned: good enough to
    // choose by, at a fraction of the cost.
    double best_rate(double slowest, double fastest, double step) {
        std::vector<std::array<double, 2>> turn(terms_.size());
        for (std::size_t i = 0; i < turn.size(); ++i) {
            const double angle = 2.0 * std::numbers::pi * step * (p_.t[i] - middle_);
            turn[i] = {std::cos(angle), std::sin(angle)};
        }
        double best = 0.0;
        double least = std::numeric_limits<double>::infinity();
        for (double rate = slowest; rate <= fastest; rate += step) {
            const Solved s = rate == slowest ? at(rate) : turned(turn);
            if (s.misfit < least) {
                least = s.misfit;
                best = rate;
            }
        }
        return best;
    }

  private:
    Solved solved(std::size_t terms) const {
        NormalSums sums;
        add_up(sums, terms_.data(), y_.data(), p_.w.data(), terms_.size());
        return solve(sums, terms, p_.weight);
    }

    Solved turned(const std::vector<std::array<double, 2>>& by) {
        for (std::size_t i = 0; i < terms_.size(); ++i) {
            const auto [co, si] = by[i];
            const double c = terms_[i][2];
            const double s = terms_[i][3];
            terms_[i][2] = c * co - s * si;
            terms_[i][3] = s * co + c * si;
        }
        return solved(4);
    }

    const Points& p_;
    double middle_, half_, base_;
    std::vector<double> y_;
    std::vector<Terms> terms_;
};

}  // namespace

std::optional<VibratoFit> fit_vibrato(const FineLine& line, const std::vector<double>& weights,
                                      std::size_t from, std::size_t to,
                                      const NoteSettings& settings) {
    const Points p = gather(line, weights, from, to);
    if (p.t.size() < 24) return std::nullopt;
    ShakenLine shaken(p);
    const double base = shaken.base();
    const double straight = shaken.straight_misfit();
    double best_rate =
        shaken.best_rate(settings.slowest_vibrato.value(), settings.fastest_vibrato.value(), 0.2);
    Solved best;
    if (best_rate > 0.0) best = shaken.at(best_rate);
    for (double step = 0.1; step > 0.004; step *= 0.5) {
        for (const double rate : {best_rate - step, best_rate + step}) {
            const Solved s = shaken.at(rate);
            if (s.misfit < best.misfit) {
                best = s;
                best_rate = rate;
            }
        }
    }
    if (!std::isfinite(best.misfit) || straight <= 0.0) return std::nullopt;
    VibratoFit fit;
    fit.rate = best_rate;
    fit.share = std::clamp(1.0 - best.misfit / straight, 0.0, 1.0);
    fit.cycles = best_rate * 2.0 * shaken.half();
    fit.from = from;
    fit.to = to;
    // A reading averages the pitch over its lag and over its window: two boxes, each a sinc.
    const double period = 1.0 / (440.0 * std::exp2((base - 6900.0) / 1200.0));
    const double lag = std::max(1.0, std::floor(settings.line_lag.value() / period)) * period;
    const double width = std::max(settings.line_window.value(), 1.25 * period);
    const auto sinc = [](double x) { return x < 1e-9 ? 1.0 : std::sin(x) / x; };
    const double kept =
        sinc(std::numbers::pi * best_rate * lag) * sinc(std::numbers::pi * best_rate * width);
    fit.depth = best.depth / std::max(0.5, kept);
    return fit;
}

}  // namespace bentline::notes
