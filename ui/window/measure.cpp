// A straight trend and what swings around it.
#include "ui/window/measure.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <vector>

namespace bentline::window {
namespace {

struct Sample {
    double t;
    double cents;  // above MIDI key 0
};

std::vector<Sample> samples_in(const PitchCurve& line, SecondsRange span) {
    std::vector<Sample> found;
    const double hop = line.hop.value();
    const double first = std::ceil((span.from - line.start).value() / hop);
    for (auto i = static_cast<std::size_t>(std::max(0.0, first));
         i < line.points.size() && line.time_of(i) < span.to; ++i) {
        const PitchPoint& p = line.points[i];
        if (p.f0)
            found.push_back(
                {line.time_of(i).value(), 100.0 * pitch_of(*p.f0, line.tuning).value()});
    }
    return found;
}

// Takes the straight line of least squares out, in place.
void detrend(std::vector<Sample>& s) {
    const double n = static_cast<double>(s.size());
    double mt = 0, mc = 0, tt = 0, tc = 0;
    for (const Sample& p : s)
        mt += p.t / n, mc += p.cents / n;
    for (const Sample& p : s)
        tt += (p.t - mt) * (p.t - mt), tc += (p.t - mt) * (p.cents - mc);
    const double slope = tt > 0 ? tc / tt : 0.0;
    for (Sample& p : s)
        p.cents -= mc + slope * (p.t - mt);
}

// Times at which the remainder crosses zero, a crossing counting only when it then swings clear of
// zero by a quarter of its rms, so that noise does not count.
std::vector<double> crossings(const std::vector<Sample>& s, double rms) {
    std::vector<double> found;
    int side = 0;
    double last_zero = 0;
    for (std::size_t i = 0; i < s.size(); ++i) {
        if (i > 0 && (s[i - 1].cents < 0) != (s[i].cents < 0)) {
            const double share = s[i - 1].cents / (s[i - 1].cents - s[i].cents);
            last_zero = s[i - 1].t + share * (s[i].t - s[i - 1].t);
        }
        if (std::abs(s[i].cents) < 0.25 * rms) continue;
        const int now = s[i].cents > 0 ? 1 : -1;
        if (side != 0 && now != side) found.push_back(last_zero);
        side = now;
    }
    return found;
}

double mean_around(const std::vector<Sample>& s, double from, double to) {
    double sum = 0, n = 0;
    for (const Sample& p : s) {
        if (p.t >= from && p.t <= to) sum += p.cents, n += 1;
    }
    return sum / n;
}

}  // namespace

Measured measure_span(const PitchCurve& line, SecondsRange span) {
    Measured m;
    m.span = span;
    std::vector<Sample> s = samples_in(line, span);
    if (s.empty()) return m;
    const double first = mean_around(s, s.front().t, s.front().t + 0.020);
    const double last = mean_around(s, s.back().t - 0.020, s.back().t);
    m.first = Pitch(first / 100.0);
    m.last = Pitch(last / 100.0);
    m.moved = Cents(last - first);
    const auto [low, high] = std::minmax_element(
        s.begin(), s.end(), [](const Sample& a, const Sample& b) { return a.cents < b.cents; });
    m.spread = Cents(high->cents - low->cents);

    detrend(s);
    const double power = std::accumulate(s.begin(), s.end(), 0.0, [](double sum, const Sample& p) {
        return sum + p.cents * p.cents;
    });
    const double rms = std::sqrt(power / static_cast<double>(s.size()));
    const std::vector<double> zeros = crossings(s, rms);
    if (zeros.size() < 4) return m;
    const double rate =
        static_cast<double>(zeros.size() - 1) / (2.0 * (zeros.back() - zeros.front()));
    const double depth = rms * std::sqrt(2.0);
    if (rate < 3.0 || rate > 10.0 || depth < 5.0) return m;
    m.vibrato_rate = Hertz(rate);
    m.vibrato_depth = Cents(depth);
    return m;
}

}  // namespace bentline::window
