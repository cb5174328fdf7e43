// All rates side by side, so that several share a register.
#include "engine/notes/swings.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "engine/transform/wide_lanes.h"

namespace bentline::notes {

double swing_rate(std::size_t r, const NoteSettings& settings) {
    const double low = settings.slowest_vibrato.value();
    const double high = settings.fastest_vibrato.value();
    return low + (high - low) * static_cast<double>(r) / static_cast<double>(swing_rates - 1);
}

std::vector<SwingTurn> swing_turns(double hop, std::size_t length, const NoteSettings& settings) {
    std::vector<SwingTurn> turns(length);
    for (std::size_t r = 0; r < swing_rates; ++r) {
        const double radians_a_point = 2.0 * std::numbers::pi * swing_rate(r, settings) * hop;
        for (std::size_t i = 0; i < length; ++i) {
            turns[i].cosine[r] = std::cos(radians_a_point * static_cast<double>(i));
            turns[i].sine[r] = std::sin(radians_a_point * static_cast<double>(i));
        }
    }
    return turns;
}

BENTLINE_WIDE_LANES
void add_to_swings(SwingSums& q, const SwingTurn& turn, double w, double y) {
    for (std::size_t r = 0; r < swing_rates; ++r) {
        const double co = turn.cosine[r];
        const double si = turn.sine[r];
        q.c[r] += w * co;
        q.s[r] += w * si;
        q.cc[r] += w * co * co;
        q.ss[r] += w * si * si;
        q.cs[r] += w * co * si;
        q.yc[r] += w * y * co;
        q.ys[r] += w * y * si;
    }
}

BENTLINE_WIDE_LANES
void fit_swings(Swings& out, const SwingSums& a, const SwingSums& b, double w, double height,
                double misfit) {
    for (std::size_t k = 0; k < swing_rates; ++k) {
        const double c = (b.c[k] - a.c[k]) / w;
        const double s = (b.s[k] - a.s[k]) / w;
        const double cc = b.cc[k] - a.cc[k] - w * c * c;
        const double ss = b.ss[k] - a.ss[k] - w * s * s;
        const double cs = b.cs[k] - a.cs[k] - w * c * s;
        const double yc = b.yc[k] - a.yc[k] - w * height * c;
        const double ys = b.ys[k] - a.ys[k] - w * height * s;
        const double det = cc * ss - cs * cs;
        const double p = (yc * ss - ys * cs) / det;
        const double r = (ys * cc - yc * cs) / det;
        out.misfit[k] = std::max(0.0, misfit - p * yc - r * ys);
        out.mean[k] = height - p * c - r * s;
        out.depth_squared[k] = det > 1e-6 * w * w ? p * p + r * r : 0.0;
    }
}

}  // namespace bentline::notes
