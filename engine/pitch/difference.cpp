// The difference function with windows that suit each lag, its dips, and their refinement.
#include "engine/pitch/difference.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>

#include "engine/transform/wide_lanes.h"

namespace bentline {

namespace {

// A stretch and the same later: the sum of the squares of their differences is wanted.
struct Pair {
    const float* first;
    const float* second;
    std::size_t length;
};

inline __attribute__((always_inline)) void add_squares(Lanes& sums, const Pair& p, std::size_t i) {
    Lanes a;
    load(a, p.first + i);
    Lanes b;
    load(b, p.second + i);
    const Lanes d = a - b;
    sums += d * d;
}

// The same of four pairs, two and two of which have a stretch in common: neighbouring lags often
// do, and a register that holds it serves both.
inline __attribute__((always_inline)) std::size_t share_reads(Lanes& s0, Lanes& s1, Lanes& s2,
                                                              Lanes& s3, const float* in_01,
                                                              const float* of_0, const float* of_1,
                                                              const float* in_23, const float* of_2,
                                                              const float* of_3, std::size_t n) {
    std::size_t i = 0;
    for (; i + lanes <= n; i += lanes) {
        Lanes common;
        load(common, in_01 + i);
        Lanes other;
        load(other, of_0 + i);
        other -= common;
        s0 += other * other;
        load(other, of_1 + i);
        other -= common;
        s1 += other * other;
        load(common, in_23 + i);
        load(other, of_2 + i);
        other -= common;
        s2 += other * other;
        load(other, of_3 + i);
        other -= common;
        s3 += other * other;
    }
    return i;
}

// Eight running sums a pair, four pairs side by side, for one alone would wait for its own last
// addition. A pair's sum does not depend on its company.
constexpr std::size_t side_by_side = 4;
BENTLINE_WIDE_LANES
void squared_distances(const Pair* pairs, double* sums) {
    static_assert(side_by_side == 4);
    Lanes s0{};
    Lanes s1{};
    Lanes s2{};
    Lanes s3{};
    const std::size_t common = std::min(std::min(pairs[0].length, pairs[1].length),
                                        std::min(pairs[2].length, pairs[3].length));
    std::size_t i = 0;
    if (pairs[0].second == pairs[1].second && pairs[2].second == pairs[3].second) {
        i = share_reads(s0, s1, s2, s3, pairs[0].second, pairs[0].first, pairs[1].first,
                        pairs[2].second, pairs[2].first, pairs[3].first, common);
    } else if (pairs[0].first == pairs[1].first && pairs[2].first == pairs[3].first) {
        i = share_reads(s0, s1, s2, s3, pairs[0].first, pairs[0].second, pairs[1].second,
                        pairs[2].first, pairs[2].second, pairs[3].second, common);
    } else {
        for (; i + lanes <= common; i += lanes) {
            add_squares(s0, pairs[0], i);
            add_squares(s1, pairs[1], i);
            add_squares(s2, pairs[2], i);
            add_squares(s3, pairs[3], i);
        }
    }
    const auto finished = [i](Lanes & lane, const Pair& p) __attribute__((always_inline)) {
        std::size_t k = i;
        for (; k + lanes <= p.length; k += lanes)
            add_squares(lane, p, k);
        float sum = 0.0F;
        for (; k < p.length; ++k)
            sum += (p.first[k] - p.second[k]) * (p.first[k] - p.second[k]);
        for (std::size_t l = 0; l < lanes; ++l)
            sum += lane[l];
        return static_cast<double>(sum);
    };
    sums[0] = finished(s0, pairs[0]);
    sums[1] = finished(s1, pairs[1]);
    sums[2] = finished(s2, pairs[2]);
    sums[3] = finished(s3, pairs[3]);
}

// Cumulative Beta(2, 11) distribution: mean 0.15, the prior of pYIN's thresholds.
double threshold_below(double x) {
    if (x <= 0.0) return 0.0;
    if (x >= 1.0) return 1.0;
    const double p11 = std::pow(1.0 - x, 11);
    return 1.0 - p11 * (1.0 - x) - 12.0 * x * p11;
}

// The frame around one moment: differences over the power, each lag's window centred.
class Frame {
  public:
    Frame(std::span<const float> signal, std::size_t middle, const LagSearch& search)
        : search_(search), reach_(reach(search)), x_(signal.data() + (middle - reach_)) {
        power_.resize(2 * reach_ + 1);
        double sum = 0.0;
        for (std::size_t i = 0; i < 2 * reach_; ++i) {
            power_[i] = sum;
            sum += static_cast<double>(x_[i]) * static_cast<double>(x_[i]);
        }
        power_[2 * reach_] = sum;
    }

    bool silent() const { return power_.back() < 1e-12 * static_cast<double>(power_.size()); }

    // The window's start when it and its copy `lag` later lie around the middle.
    std::size_t start_for(std::size_t lag, std::size_t window) const {
        return reach_ - (window + lag) / 2;
    }
    // Whose window is whose: a lag's own, or one for several.
    struct Asked {
        std::size_t lag, window, from;
    };
    Asked own(std::size_t lag) const {
        const std::size_t window = window_of(search_, lag);
        return {lag, window, start_for(lag, window)};
    }
    using Several = std::array<double, side_by_side>;
    Several aperiodicities(const std::array<Asked, side_by_side>& asked) const {
        std::array<Pair, side_by_side> pairs;
        for (std::size_t k = 0; k < side_by_side; ++k) {
            const float* from = x_ + asked[k].from;
            pairs[k] = {from, from + asked[k].lag, asked[k].window};
        }
        Several out;
        squared_distances(pairs.data(), out.data());
        for (std::size_t k = 0; k < side_by_side; ++k) {
            const auto& [lag, window, from] = asked[k];
            const double p = power_[from + window] - power_[from] + power_[from + lag + window] -
                             power_[from + lag];
            out[k] = p < 1e-12 ? 1.0 : out[k] / p;
        }
        return out;
    }
    // Of three lags from `lag` on.
    std::array<double, 3> three(std::size_t lag) const {
        const Several v = aperiodicities({own(lag), own(lag + 1), own(lag + 2), own(lag)});
        return {v[0], v[1], v[2]};
    }
    std::size_t reach_samples() const { return reach_; }

  private:
    LagSearch search_;
    std::size_t reach_;
    const float* x_;
    std::vector<double> power_;
};

constexpr int half = 5;
constexpr std::size_t nodes = 2 * half + 1;

// The polynomial through eleven values one apart (Lagrange, barycentric form), `offset` from the
// middle one. Distances of all nodes at once; the twelfth is no node and weighs nothing.
BENTLINE_WIDE_LANES
double read_between(const double* values, double offset) {
    static_assert(half == 5);
    // Binomial coefficients with alternating sign: the barycentric weights of equal spacing.
    constexpr double weight[nodes + 1] = {1, -10, 45, -120, 210, -252, 210, -120, 45, -10, 1, 0};
    double share[nodes + 1];
    double part[nodes + 1];
    bool on_node = false;
    for (std::size_t k = 0; k < nodes + 1; ++k) {
        const double distance = offset - (static_cast<double>(static_cast<int>(k)) - half);
        on_node |= std::abs(distance) < 1e-9;
        share[k] = weight[k] / distance;
        part[k] = share[k] * values[k];
    }
    if (on_node) {
        const auto node = static_cast<std::size_t>(std::lround(offset + half));
        if (node < nodes) return values[node];
    }
    double top = 0.0;
    double bottom = 0.0;
    for (std::size_t k = 0; k < nodes; ++k) {
        top += part[k];
        bottom += share[k];
    }
    return top / bottom;
}

// Least value near lag0 of the difference function, read between samples by the polynomial through
// the ten nearest ones (Lagrange, barycentric form): it is smooth there, being band-limited like
// the sound itself. One window for all lags involved.
struct Dip {
    double lag;
    double value;
};
Dip refine(const Frame& frame, std::size_t lag0, std::size_t window) {
    std::array<double, nodes + 1> value{};
    const std::size_t from = frame.start_for(lag0, window);
    for (std::size_t k = 0; k < nodes; k += side_by_side) {
        std::array<Frame::Asked, side_by_side> asked;
        for (std::size_t j = 0; j < side_by_side; ++j) {
            const auto node = static_cast<int>(std::min(k + j, nodes - 1));
            const int lag = std::abs(static_cast<int>(lag0) + node - half);
            asked[j] = {static_cast<std::size_t>(lag), window, from};
        }
        const Frame::Several some = frame.aperiodicities(asked);
        for (std::size_t j = 0; j < side_by_side && k + j < nodes; ++j)
            value[k + j] = some[j];
    }
    const auto read = [&](double offset) { return read_between(value.data(), offset); };
    // Golden-section search between the neighbours; the dip is smooth there.
    const double ratio = 0.5 * (std::sqrt(5.0) - 1.0);
    double lo = -1.0;
    double hi = 1.0;
    double a = hi - ratio * (hi - lo);
    double b = lo + ratio * (hi - lo);
    double fa = read(a);
    double fb = read(b);
    while (hi - lo > 2e-3) {
        if (fa < fb) {
            hi = b;
            b = a;
            fb = fa;
            a = hi - ratio * (hi - lo);
            fa = read(a);
        } else {
            lo = a;
            a = b;
            fa = fb;
            b = lo + ratio * (hi - lo);
            fb = read(b);
        }
    }
    // A parabola through three points around it makes the last step smooth.
    const double mid = 0.5 * (lo + hi);
    const double h = 0.15;
    const double f0 = read(mid - h);
    const double f1 = read(mid);
    const double f2 = read(mid + h);
    const double curve = f0 - 2.0 * f1 + f2;
    double shift = curve > 0.0 ? 0.5 * h * (f0 - f2) / curve : 0.0;
    shift = std::clamp(shift, -h, h);
    return {static_cast<double>(lag0) + mid + shift,
            std::max(0.0, std::min(f1, read(mid + shift)))};
}

// A period measured over several of them is finer: looks at the whole multiple of it that still
// fits the shortest window's half.
double refine_over_periods(const Frame& frame, Dip first, const LagSearch& search) {
    const double room = 0.6 * static_cast<double>(search.shortest_window);
    int times = static_cast<int>(room / first.lag);
    double period = first.lag;
    if (times < 2) return period;
    for (int m = 2;; m = std::min(2 * m, times)) {
        const double aim = period * m;
        const auto lag0 = static_cast<std::size_t>(std::lround(aim));
        const std::size_t window = search.shortest_window;
        if ((window + lag0 + 16) / 2 + 1 > frame.reach_samples()) break;
        const Dip dip = refine(frame, lag0, window);
        // A dip that wandered to the edge or is much worse is no multiple of this period.
        if (std::abs(dip.lag - aim) > 0.9 || dip.value > 2.0 * first.value + 0.05) break;
        period = dip.lag / m;
        if (m == times) break;
    }
    return period;
}

}  // namespace

double difference(std::span<const float> x, std::size_t window, std::size_t lag) {
    assert(x.size() >= window + lag);
    const Pair pair{x.data(), x.data() + lag, window};
    const std::array<Pair, side_by_side> same{pair, pair, pair, pair};
    std::array<double, side_by_side> sums;
    squared_distances(same.data(), sums.data());
    return sums[0];
}

std::size_t window_of(const LagSearch& search, std::size_t lag) {
    const auto wanted = static_cast<std::size_t>(search.window_periods * static_cast<double>(lag));
    return std::max(search.shortest_window, wanted);
}

std::size_t reach(const LagSearch& search) {
    return (window_of(search, search.longest + 9) + search.longest + 9) / 2 + 9;
}

double PeriodEvidence::aperiodicity(double period) const {
    const double at = period - static_cast<double>(first_lag);
    if (!(at >= 0.0) || at + 1.0 >= static_cast<double>(curve.size())) return 1.0;
    const auto i = static_cast<std::size_t>(at);
    const double share = at - static_cast<double>(i);
    return (1.0 - share) * static_cast<double>(curve[i]) +
           share * static_cast<double>(curve[i + 1]);
}

PeriodEvidence period_evidence(std::span<const float> signal, std::size_t middle,
                               const LagSearch& search) {
    assert(search.shortest >= 2 && search.shortest < search.longest);
    assert(middle >= reach(search) && middle + reach(search) <= signal.size());
    const Frame frame(signal, middle, search);
    PeriodEvidence out;
    if (frame.silent()) return out;

    const std::size_t first = search.shortest - 1;
    out.first_lag = first;
    out.curve.resize(search.longest + 2 - first);
    std::vector<float>& q = out.curve;
    // From an even lag on: it has a stretch in common with the next.
    const std::size_t end = first + q.size();
    for (std::size_t lag = first - first % 2; lag < end; lag += side_by_side) {
        const auto asked = [&](std::size_t k) { return frame.own(std::min(lag + k, end - 1)); };
        const Frame::Several some = frame.aperiodicities({asked(0), asked(1), asked(2), asked(3)});
        for (std::size_t k = 0; k < side_by_side; ++k) {
            if (lag + k >= first && lag + k < end) q[lag + k - first] = static_cast<float>(some[k]);
        }
    }

    double least_so_far = 1.0;
    for (std::size_t i = 1; i + 1 < q.size(); ++i) {
        if (!(q[i] < q[i - 1] && q[i] <= q[i + 1]) || q[i] > 0.9F) continue;
        // Only dips that may still matter are worth refining.
        if (static_cast<double>(q[i]) > least_so_far + 0.1) continue;
        const std::size_t lag = first + i;
        const Dip dip = refine(frame, lag, window_of(search, lag));
        PeriodCandidate c;
        c.period = dip.lag;
        c.aperiodicity = dip.value;
        if (dip.value < least_so_far) {
            c.probability = threshold_below(least_so_far) - threshold_below(dip.value);
            least_so_far = dip.value;
        }
        c.period = refine_over_periods(frame, dip, search);
        out.candidates.push_back(c);
    }
    std::stable_sort(out.candidates.begin(), out.candidates.end(),
                     [](const PeriodCandidate& a, const PeriodCandidate& b) {
                         return a.probability > b.probability;
                     });
    return out;
}

std::optional<PeriodCandidate> period_near(std::span<const float> signal, std::size_t middle,
                                           double period, const LagSearch& search) {
    const std::size_t around = reach(search);
    if (middle < around || middle + around > signal.size()) return std::nullopt;
    const Frame frame(signal, middle, search);
    if (frame.silent()) return std::nullopt;
    // From the nearest lag downhill.
    auto lag = static_cast<std::size_t>(std::lround(period));
    const double most = 0.03 * period + 1.0;
    while (lag > 2 && lag + 1 < search.longest) {
        const auto [below, here, above] = frame.three(lag - 1);
        if (below >= here && above >= here) break;
        lag = below < above ? lag - 1 : lag + 1;
        if (std::abs(static_cast<double>(lag) - period) > most) return std::nullopt;
    }
    const Dip dip = refine(frame, lag, window_of(search, lag));
    PeriodCandidate c;
    c.period = refine_over_periods(frame, dip, search);
    c.aperiodicity = dip.value;
    return c;
}

}  // namespace bentline
