// Weighted least squares of a parabola around every moment.
#include "engine/pitch/steady_line.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "engine/median.h"

namespace bentline {

namespace {

constexpr double farthest_cents = 80.0;
// Pitches that lie this far from the curve count half. It and the reach: chosen on generated bands.
constexpr double usual_error_cents = 5.0;
constexpr int passes = 3;
// Keep the curve from bending after few points.
constexpr double against_slope = 0.05;
constexpr double against_bend = 0.3;

struct Seen {
    double at;     // -1 to 1
    double cents;  // from the middle's
};

using Sums = std::array<double, 5>;

double determinant(const std::array<std::array<double, 3>, 3>& m) {
    return m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1]) -
           m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0]) +
           m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0]);
}

// The parabola's three coefficients from the sums of the weights' and the values' moments.
std::array<double, 3> solved(const Sums& s, const std::array<double, 3>& values) {
    const std::array<std::array<double, 3>, 3> m = {
        {{s[0], s[1], s[2]}, {s[1], s[2], s[3]}, {s[2], s[3], s[4]}}};
    const double all = determinant(m);
    std::array<double, 3> c{};
    for (std::size_t column = 0; column < 3; ++column) {
        auto changed = m;
        for (std::size_t row = 0; row < 3; ++row)
            changed[row][column] = values[row];
        c[column] = determinant(changed) / all;
    }
    return c;
}

// Where the curve through them lies in the middle, in cents.
double middle_of(std::span<const Seen> seen) {
    std::vector<double> cents;
    for (const Seen& s : seen)
        cents.push_back(s.cents);
    std::array<double, 3> c = {median(std::move(cents)), 0.0, 0.0};
    for (int pass = 0; pass < passes; ++pass) {
        Sums sums{};
        std::array<double, 3> values{};
        for (const Seen& s : seen) {
            const double off =
                (s.cents - (c[0] + c[1] * s.at + c[2] * s.at * s.at)) / usual_error_cents;
            double power = (1.0 - 0.5 * s.at * s.at) / (1.0 + off * off);
            for (std::size_t k = 0; k < sums.size(); ++k) {
                sums[k] += power;
                if (k < values.size()) values[k] += power * s.cents;
                power *= s.at;
            }
        }
        sums[2] += against_slope;
        sums[4] += against_bend;
        c = solved(sums, values);
    }
    return c[0];
}

}  // namespace

std::vector<std::optional<Hertz>> steady_line(std::span<const std::optional<Hertz>> line,
                                              const std::vector<bool>& clear) {
    std::vector<std::optional<Hertz>> out(line.begin(), line.end());
    std::vector<Seen> seen;
    for (std::size_t i = 0; i < line.size(); ++i) {
        if (!line[i] || clear[i]) continue;
        seen.assign(1, {0.0, 0.0});
        const auto add = [&](std::size_t k, double at) {
            if (!line[k]) return false;
            const double off = interval(*line[i], *line[k]).value();
            if (std::abs(off) > farthest_cents) return false;
            seen.push_back({at / static_cast<double>(steady_reach), off});
            return true;
        };
        for (std::size_t k = 1; k <= std::min(i, steady_reach); ++k) {
            if (!add(i - k, -static_cast<double>(k))) break;
        }
        for (std::size_t k = 1; k <= steady_reach && i + k < line.size(); ++k) {
            if (!add(i + k, static_cast<double>(k))) break;
        }
        out[i] = *line[i] * std::exp2(middle_of(seen) / 1200.0);
    }
    return out;
}

}  // namespace bentline
