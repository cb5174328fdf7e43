// Fits of moving pitch: stepped, smooth, shaken.
#include "engine/notes/line_models.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>

#include "engine/notes/line_points.h"

namespace bentline::notes {

namespace {

double squared(double x) {
    return x * x;
}

// How far a fretted pitch lies off a whole semitone from another, and how far from its reading a
// pitch may lie that was not held at all; one that was held this long is read well. Chosen.
constexpr double fretting_spread = 18.0;  // cents
constexpr double unheld_spread = 60.0;    // cents
constexpr double well_held = 0.050;       // seconds

struct SmoothFit {
    double misfit = std::numeric_limits<double>::infinity();  // with what its haste costs
    double start = 0.0;
    double end = 0.0;
};

// Nothing but a hand pushes a string, and it takes its time: chosen.
constexpr double shortest_push = 0.040;  // seconds
constexpr double usual_push = 0.070;
constexpr double hasty = 0.020;  // standard deviation of what is quicker than usual

double smooth_misfit(const Points& p, double a, double b, double start, double end,
                     double variance) {
    const double haste = std::max(0.0, usual_push - (end - start)) / hasty;
    double sum = variance * squared(haste);
    for (std::size_t i = 0; i < p.t.size(); ++i) {
        const double x = std::clamp((p.t[i] - start) / (end - start), 0.0, 1.0);
        const double model = a + (b - a) * 0.5 * (1.0 - std::cos(std::numbers::pi * x));
        sum += p.w[i] * squared(p.y[i] - model);
    }
    return sum;
}

SmoothFit fit_smooth(const Points& p, double a, double b, double variance) {
    SmoothFit best;
    const double begin = p.t.front() - 0.02;
    const double span = p.t.back() + 0.02 - begin;
    double step = std::max(0.005, span / 24.0);
    for (double start = begin; start < begin + span; start += step) {
        for (double end = start + shortest_push; end <= begin + span + 0.02; end += step) {
            const double misfit = smooth_misfit(p, a, b, start, end, variance);
            if (misfit < best.misfit) best = {misfit, start, end};
        }
    }
    for (; step > 0.001; step *= 0.5) {
        for (const auto& [ds, de] :
             {std::pair{-step, 0.0}, {step, 0.0}, {0.0, -step}, {0.0, step}}) {
            const double start = best.start + ds;
            const double end = best.end + de;
            if (end - start < shortest_push) continue;
            const double misfit = smooth_misfit(p, a, b, start, end, variance);
            if (misfit < best.misfit) best = {misfit, start, end};
        }
    }
    return best;
}

struct SteppedFit {
    double misfit = std::numeric_limits<double>::infinity();
    std::vector<double> jumps;  // seconds
};

// Monotone assignment of points to levels by dynamic programming, then the jumps blurred by a box.
SteppedFit fit_stepped(const Points& p, double a, double b, int steps, double blur) {
    const std::size_t n = p.t.size();
    const auto levels = static_cast<std::size_t>(steps) + 1;
    const auto level = [&](std::size_t k) { return a + (b - a) * static_cast<double>(k) / steps; };
    std::vector<std::vector<double>> cost(levels, std::vector<double>(n + 1, 0.0));
    std::vector<std::vector<std::size_t>> born(levels, std::vector<std::size_t>(n + 1, 0));
    for (std::size_t k = 0; k < levels; ++k) {
        for (std::size_t i = 0; i <= n; ++i) {
            const double stay =
                i == 0 ? (k == 0 ? 0.0 : std::numeric_limits<double>::infinity())
                       : cost[k][i - 1] +
                             p.w[i - 1] * squared(std::min(60.0, std::abs(p.y[i - 1] - level(k))));
            cost[k][i] = stay;
            born[k][i] = i == 0 ? 0 : born[k][i - 1];
            if (k > 0 && cost[k - 1][i] < stay) {
                cost[k][i] = cost[k - 1][i];
                born[k][i] = i;
            }
        }
    }
    SteppedFit fit;
    fit.jumps.resize(static_cast<std::size_t>(steps));
    std::size_t i = n;
    for (std::size_t k = levels - 1; k > 0; --k) {
        i = born[k][i];
        const double at = i == 0 ? p.t.front() : i >= n ? p.t.back() : 0.5 * (p.t[i - 1] + p.t[i]);
        fit.jumps[k - 1] = at;
    }
    const double height = (b - a) / steps;
    fit.misfit = 0.0;
    for (std::size_t j = 0; j < n; ++j) {
        double model = a;
        for (const double jump : fit.jumps) {
            model += height * std::clamp((p.t[j] - jump) / blur + 0.5, 0.0, 1.0);
        }
        fit.misfit += p.w[j] * squared(p.y[j] - model);
    }
    return fit;
}

}  // namespace

MoveFit compare_move(const FineLine& line, const std::vector<double>& weights, std::size_t from,
                     std::size_t to, const MoveEnd& first, const MoveEnd& second,
                     const NoteSettings& settings) {
    MoveFit fit;
    const Points p = gather(line, weights, from, to);
    const double size = std::abs(second.cents - first.cents);
    const double way = second.cents < first.cents ? -1.0 : 1.0;
    fit.steps = std::max(1, static_cast<int>(std::lround(size / 100.0)));
    fit.stepped_from = first.cents;
    fit.stepped_to = second.cents;
    fit.smooth_start = fit.first_step = line.time_of(from);
    fit.smooth_end = fit.last_step = line.time_of(to > 0 ? to - 1 : 0);
    if (p.t.size() < 4 || p.weight < 0.5 || fit.steps > 24) {
        // Too little to see it move: a leap.
        fit.first_step = fit.last_step = 0.5 * (fit.smooth_start + fit.smooth_end);
        return fit;
    }
    const double spread = squared(settings.moving_spread.value());
    SmoothFit smooth = fit_smooth(p, first.cents, second.cents, spread);
    const double blur = 0.75 * line_blur(std::max(first.cents, second.cents), settings);

    // The end that is known less well is where the frets and its own reading agree best.
    const bool late = second.held < first.held;
    const double vague =
        unheld_spread * std::max(0.0, 1.0 - std::min(first.held, second.held) / well_held);
    SteppedFit stepped;
    double least = std::numeric_limits<double>::infinity();
    double far = 0.0;  // nats: how unlikely the ends are of that many frets
    MoveEnd a = first;
    MoveEnd b = second;
    const int give = vague > fretting_spread ? 1 : 0;
    const int middle = fit.steps;
    for (int steps = std::max(1, middle - give); steps <= middle + give; ++steps) {
        const double off = 100.0 * steps - size;
        const double share = squared(vague) / (squared(vague) + squared(fretting_spread));
        const double shift = way * off * share;
        MoveEnd from_end = first;
        MoveEnd to_end = second;
        if (late)
            to_end.cents += shift;
        else
            from_end.cents -= shift;
        const SteppedFit tried = fit_stepped(p, from_end.cents, to_end.cents, steps, blur);
        const double unlikely = 0.5 * squared(off) / (squared(vague) + squared(fretting_spread));
        const double total = tried.misfit / (2.0 * spread) + unlikely;
        if (total >= least) continue;
        least = total;
        stepped = tried;
        far = unlikely;
        fit.steps = steps;
        a = from_end;
        b = to_end;
    }
    if (vague > 0.0) {
        // A push may as well have begun or ended there.
        const double moved = std::abs(b.cents - a.cents) - size;
        SmoothFit other = fit_smooth(p, a.cents, b.cents, spread);
        other.misfit += spread * squared(moved / vague);
        if (other.misfit < smooth.misfit) smooth = other;
    }
    fit.stepped_from = a.cents;
    fit.stepped_to = b.cents;
    fit.smooth_start = smooth.start;
    fit.smooth_end = smooth.end;
    fit.first_step = stepped.jumps.front();
    fit.last_step = stepped.jumps.back();
    // A real move follows neither model exactly: the spread grows with what the better one leaves.
    const double left = std::min(smooth.misfit, stepped.misfit) / p.weight;
    const double variance = spread + left;
    const double cost = 0.5 * std::log(std::max(2.0, p.weight));
    // Fret distances are whole semitones; a push may stop anywhere.
    fit.stepped_odds =
        (smooth.misfit - stepped.misfit) / (2.0 * variance) - (fit.steps - 2) * cost - far + 0.5;
    fit.stepped_odds = std::clamp(fit.stepped_odds, -20.0, 20.0);
    return fit;
}

std::optional<double> smooth_rise(const FineLine& line, const std::vector<double>& weights,
                                  std::size_t from, std::size_t to, double start, double end) {
    if (!(end > start)) return std::nullopt;
    const std::size_t first = std::max(from, line.index_of(start - 0.06));
    const std::size_t last = std::min(to, line.index_of(end + 0.08) + 1);
    const Points p = gather(line, weights, first, last);
    double w = 0.0, x = 0.0, y = 0.0, xx = 0.0, xy = 0.0, low = 0.0, high = 0.0;
    for (std::size_t i = 0; i < p.t.size(); ++i) {
        const double at = std::clamp((p.t[i] - start) / (end - start), 0.0, 1.0);
        const double ramp = 0.5 * (1.0 - std::cos(std::numbers::pi * at));
        w += p.w[i];
        x += p.w[i] * ramp;
        y += p.w[i] * p.y[i];
        xx += p.w[i] * ramp * ramp;
        xy += p.w[i] * ramp * p.y[i];
        if (ramp < 0.1) low += p.w[i];
        if (ramp > 0.9) high += p.w[i];
    }
    if (w < 6.0 || low < 0.7 || high < 2.0) return std::nullopt;
    const double spread = xx - x * x / w;
    if (spread < 0.02 * w) return std::nullopt;
    return (xy - x * y / w) / spread;
}

}  // namespace bentline::notes
