// The difference function with windows that suit each lag, its dips, and their refinement.
#include "engine/pitch/difference.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>

namespace bentline {

namespace {

// Eight running sums, so that the compiler may use vector registers.
float squared_distance(const float* a, const float* b, std::size_t n) {
    float lane[8] = {};
    std::size_t i = 0;
    for (; i + 8 <= n; i += 8) {
        for (std::size_t k = 0; k < 8; ++k) {
            const float d = a[i + k] - b[i + k];
            lane[k] += d * d;
        }
    }
    float sum = 0.0F;
    for (; i < n; ++i)
        sum += (a[i] - b[i]) * (a[i] - b[i]);
    for (const float v : lane)
        sum += v;
    return sum;
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
    double aperiodicity(std::size_t lag, std::size_t window, std::size_t from) const {
        const double p =
            power_[from + window] - power_[from] + power_[from + lag + window] - power_[from + lag];
        if (p < 1e-12) return 1.0;
        return static_cast<double>(squared_distance(x_ + from, x_ + from + lag, window)) / p;
    }
    double aperiodicity(std::size_t lag) const {
        const std::size_t window = window_of(search_, lag);
        return aperiodicity(lag, window, start_for(lag, window));
    }
    std::size_t reach_samples() const { return reach_; }

  private:
    LagSearch search_;
    std::size_t reach_;
    const float* x_;
    std::vector<double> power_;
};

// Least value near lag0 of the difference function, read between samples by the polynomial through
// the ten nearest ones (Lagrange, barycentric form): it is smooth there, being band-limited like
// the sound itself. One window for all lags involved.
struct Dip {
    double lag;
    double value;
};
Dip refine(const Frame& frame, std::size_t lag0, std::size_t window) {
    constexpr int half = 5;
    constexpr std::size_t nodes = 2 * half + 1;
    // Binomial coefficients with alternating sign: the barycentric weights of equal spacing.
    constexpr std::array<double, nodes> weight{1, -10, 45, -120, 210, -252, 210, -120, 45, -10, 1};
    std::array<double, nodes> value{};
    const std::size_t from = frame.start_for(lag0, window);
    for (std::size_t k = 0; k < nodes; ++k) {
        const int lag = std::abs(static_cast<int>(lag0) + static_cast<int>(k) - half);
        value[k] = frame.aperiodicity(static_cast<std::size_t>(lag), window, from);
    }
    const auto read = [&](double offset) {
        double top = 0.0;
        double bottom = 0.0;
        for (std::size_t k = 0; k < nodes; ++k) {
            const double distance = offset - (static_cast<double>(k) - half);
            if (std::abs(distance) < 1e-9) return value[k];
            const double w = weight[k] / distance;
            top += w * value[k];
            bottom += w;
        }
        return top / bottom;
    };
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
    return static_cast<double>(squared_distance(x.data(), x.data() + lag, window));
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
    for (std::size_t i = 0; i < q.size(); ++i) {
        q[i] = static_cast<float>(frame.aperiodicity(first + i));
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
    double here = frame.aperiodicity(lag);
    while (lag > 2 && lag + 1 < search.longest) {
        const double below = frame.aperiodicity(lag - 1);
        const double above = frame.aperiodicity(lag + 1);
        if (below >= here && above >= here) break;
        lag = below < above ? lag - 1 : lag + 1;
        here = std::min(below, above);
        if (std::abs(static_cast<double>(lag) - period) > most) return std::nullopt;
    }
    const Dip dip = refine(frame, lag, window_of(search, lag));
    PeriodCandidate c;
    c.period = refine_over_periods(frame, dip, search);
    c.aperiodicity = dip.value;
    return c;
}

}  // namespace bentline
