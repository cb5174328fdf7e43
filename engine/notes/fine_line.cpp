// The fine pitch line: a short self-similarity search guided by the tracker's curve.
#include "engine/notes/fine_line.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "engine/units.h"

namespace bentline::notes {

namespace {

struct Reading {
    double lag = 0.0;  // samples, of all the counted periods
    double likeness = -1.0;
};

// Looks for the lag of greatest self-similarity by climbing from a guess.
class Likeness {
  public:
    Likeness(const LeadSignal& lead) : x_(lead.samples), energy_(lead.samples.size() + 1, 0.0) {
        for (std::size_t i = 0; i < x_.size(); ++i) {
            energy_[i + 1] = energy_[i] + static_cast<double>(x_[i]) * static_cast<double>(x_[i]);
        }
    }

    // Normalised square difference of `width` samples and the same `lag` on, both centred on
    // `middle`.
    double at(std::ptrdiff_t middle, std::ptrdiff_t width, std::ptrdiff_t lag) const {
        const std::ptrdiff_t from = middle - (width + lag) / 2;
        if (from < 0 || from + width + lag > static_cast<std::ptrdiff_t>(x_.size())) return -1.0;
        const float* a = x_.data() + from;
        const float* b = a + lag;
        std::array<float, 8> sums{};
        std::ptrdiff_t j = 0;
        for (; j + 8 <= width; j += 8) {
            for (std::size_t k = 0; k < 8; ++k) {
                const auto i = static_cast<std::size_t>(j) + k;
                sums[k] += a[i] * b[i];
            }
        }
        double r = 0.0;
        for (const float s : sums)
            r += static_cast<double>(s);
        for (; j < width; ++j)
            r += static_cast<double>(a[j]) * static_cast<double>(b[j]);
        const double both = energy(from, width) + energy(from + lag, width);
        return both > 1e-12 ? 2.0 * r / both : -1.0;
    }

    Reading climb(std::ptrdiff_t middle, std::ptrdiff_t width, double guess, double reach) const {
        auto best = static_cast<std::ptrdiff_t>(std::lround(guess));
        const auto least = static_cast<std::ptrdiff_t>(std::floor(guess * (1.0 - reach)));
        const auto most = static_cast<std::ptrdiff_t>(std::ceil(guess * (1.0 + reach)));
        double mid = at(middle, width, best);
        double low = at(middle, width, best - 1);
        double high = at(middle, width, best + 1);
        while (best > least && low > mid) {
            --best;
            high = mid;
            mid = low;
            low = at(middle, width, best - 1);
        }
        while (best < most && high > mid) {
            ++best;
            low = mid;
            mid = high;
            high = at(middle, width, best + 1);
        }
        if (mid < low || mid < high || low < -0.999 || high < -0.999) return {};
        const double bow = low - 2.0 * mid + high;
        const double shift = bow < -1e-12 ? 0.5 * (low - high) / bow : 0.0;
        return {static_cast<double>(best) + std::clamp(shift, -0.5, 0.5), std::min(mid, 1.0)};
    }

  private:
    double energy(std::ptrdiff_t from, std::ptrdiff_t width) const {
        return energy_[static_cast<std::size_t>(from + width)] -
               energy_[static_cast<std::size_t>(from)];
    }
    const std::vector<float>& x_;
    std::vector<double> energy_;
};

std::optional<double> curve_hertz(const PitchCurve& curve, double index, bool leanings = true) {
    const double at = std::round(index);
    if (at < 0.0 || at >= static_cast<double>(curve.points.size())) return std::nullopt;
    const PitchPoint& point = curve.points[static_cast<std::size_t>(at)];
    const auto& f0 = point.f0 || !leanings ? point.f0 : point.leaning;
    if (!f0 || !(f0->value() > 10.0) || !std::isfinite(f0->value())) return std::nullopt;
    return f0->value();
}

double cents_of(double hertz, double tuning) {
    return 6900.0 + 1200.0 * std::log2(hertz / 440.0) - tuning;
}

// Where the sound around is clearly periodic, the lead is alone and a low likeness only means that
// it moves on; elsewhere it means that others sound along, and they pull at the reading.
void take_own_readings(FineLine& line, const std::vector<double>& own,
                       const NoteSettings& settings) {
    constexpr double around = 0.05;  // seconds to either side
    constexpr double enough = 0.25;  // of the points there
    const auto reach = static_cast<std::size_t>(std::lround(around / line.hop));
    const std::size_t n = line.size();
    double clear = 0.0;
    double followed = 0.0;
    const auto count = [&](std::size_t i, double by) {
        if (line.voiced[i] == 0) return;
        followed += by;
        if (line.quality[i] >= settings.line_quality) clear += by;
    };
    for (std::size_t i = 0; i < std::min(n, reach); ++i)
        count(i, 1.0);
    for (std::size_t i = 0; i < n; ++i) {
        if (i + reach < n) count(i + reach, 1.0);
        if (i > reach) count(i - reach - 1, -1.0);
        line.alone[i] = clear >= enough * followed ? 1 : 0;
        const double least = line.alone[i] ? settings.line_quality_alone : settings.line_quality;
        if (line.voiced[i] != 0 && line.quality[i] >= least) line.cents[i] = own[i];
    }
}

}  // namespace

std::size_t FineLine::index_of(double seconds) const {
    if (cents.empty()) return 0;
    const double at = std::round((seconds - start) / hop);
    return static_cast<std::size_t>(std::clamp(at, 0.0, static_cast<double>(cents.size() - 1)));
}

void keep_struck_leanings(FineLine& line, const std::vector<double>& plucks) {
    std::size_t next = 0;
    for (std::size_t i = 0; i < line.size(); ++i) {
        if (line.voiced[i] != 2) continue;
        const double time = line.time_of(i);
        while (next < plucks.size() && plucks[next] < time - 0.005)
            ++next;
        const bool struck = next < plucks.size() && plucks[next] < time + 0.012;
        const bool goes_on = i > 0 && line.voiced[i - 1] == 3;
        line.voiced[i] = struck || goes_on ? 3 : 0;
    }
    for (char& v : line.voiced)
        v = v != 0 ? 1 : 0;
}

double line_blur(double cents, const NoteSettings& settings) {
    const double period = 1.0 / (440.0 * std::exp2((cents - 6900.0) / 1200.0));
    const double lag = std::max(1.0, std::floor(settings.line_lag.value() / period)) * period;
    return std::max(settings.line_window.value(), 1.25 * period) + lag;
}

FineLine fine_line(const LeadSignal& lead, const PitchCurve& curve, const NoteSettings& settings,
                   const Work& work) {
    FineLine line;
    const double tuning = std::isfinite(curve.tuning.value()) ? curve.tuning.value() : 0.0;
    line.hop = settings.line_hop.value();
    line.start = std::max(lead.start, curve.start.value());
    const double end = std::min(lead.end(), curve.end().value());
    if (lead.samples.empty() || curve.points.empty() || end <= line.start) return line;
    const auto length = static_cast<std::size_t>(std::floor((end - line.start) / line.hop)) + 1;
    line.cents.assign(length, 0.0);
    line.quality.assign(length, 0.0);
    line.voiced.assign(length, 0);
    line.trust.assign(length, 0.0);
    line.alone.assign(length, 0);
    const Likeness likeness(lead);
    std::vector<double> own(length, 0.0);  // the reading here, beside the tracker's
    for (std::size_t i = 0; i < length; ++i) {
        if (i % 1024 == 0 && !work.report(static_cast<double>(i) / static_cast<double>(length))) {
            return {};
        }
        const double time = line.time_of(i);
        const double at = (time - curve.start.value()) / curve.hop.value();
        const auto here = curve_hertz(curve, at);
        if (!here) continue;
        const auto& point = curve.points[static_cast<std::size_t>(std::round(at))];
        line.voiced[i] = point.f0 ? 1 : 2;
        line.trust[i] = point.f0 ? std::clamp(point.confidence, 0.0, 1.0) : 0.6;
        line.cents[i] = cents_of(*here, tuning);

        // The tracker's window blurs quick steps: its values a little before and after are tried
        // too. What it only leans towards there may be another's sound, and says nothing of his.
        const double reach = 0.015 / curve.hop.value();
        const bool leans = !point.f0;
        const std::array<std::optional<double>, 3> guesses = {
            here, curve_hertz(curve, at - reach, leans), curve_hertz(curve, at + reach, leans)};
        Reading best;
        double best_hertz = *here;
        for (std::size_t g = 0; g < guesses.size(); ++g) {
            if (!guesses[g]) continue;
            const double hertz = *guesses[g];
            if (g > 0 && std::abs(std::log2(hertz / *here)) < 0.03) continue;
            const double period = lead.rate / hertz;
            const double periods = std::max(1.0, std::floor(settings.line_lag.value() * hertz));
            const auto width = static_cast<std::ptrdiff_t>(
                std::max(settings.line_window.value() * lead.rate, 1.25 * period));
            // Neighbouring peaks of the self-similarity lie a period apart; stay nearer than half.
            const double span = std::min(0.075, 0.4 / periods);
            const Reading r = likeness.climb(lead.index_of(time), width, period * periods, span);
            // A small handicap keeps the tracker's own value where the others are no better.
            if (r.likeness > best.likeness + (g > 0 ? 0.02 : 0.0)) {
                best = r;
                best_hertz = lead.rate * periods / r.lag;
            }
        }
        line.quality[i] = std::clamp(best.likeness, 0.0, 1.0);
        if (line.voiced[i] == 2 && best.likeness < settings.leaning_quality) line.voiced[i] = 0;
        own[i] = cents_of(best_hertz, tuning);
    }
    take_own_readings(line, own, settings);
    return line;
}

}  // namespace bentline::notes
