// Standard errors from the scatter of the fine line.
#include "engine/notes/figure_errors.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <utility>

#include "engine/median.h"

namespace bentline::notes {

namespace {

// A row a figure: of notes that sound alone, and of those among others.
constexpr std::array<std::array<ErrorScale, 2>, static_cast<std::size_t>(Measured::count)> scales =
    {{
        {{{2.97, 2.0972}, {1.43, 1.8730}}},   // cents
        {{{4.45, 4.2760}, {0.02, 10.7540}}},  // bend
        {{{1.02, 0.0420}, {1.77, 0.0468}}},   // rate
        {{{0.81, 2.2775}, {2.18, 6.1179}}},   // depth
        {{{0.19, 0.0053}, {4.45, 0.0057}}},   // arrival
        {{{7.28, 0.0282}, {0.02, 0.0317}}},   // leaving
        {{{5.42, 0.0312}, {11.85, 0.0290}}},  // leaving_on
    }};

// Scatter of the line around a level, and how many independent readings show it.
struct Scatter {
    double spread = 0.0;  // cents
    double readings = 0.0;
    double of_mean() const { return spread / std::sqrt(std::max(1.0, readings)); }
};

// Half of the distance between the quartiles is two thirds of the standard deviation; a few wild
// readings do not count. Moments that belong to a swing are compared with their neighbours.
Scatter scatter_of(const FineLine& line, const std::vector<double>& weights, std::size_t from,
                   std::size_t to) {
    std::vector<double> away;
    Scatter s;
    const auto apart = static_cast<std::size_t>(std::lround(0.02 / line.hop));
    for (std::size_t i = from; i < std::min(to, line.size()); ++i) {
        if (!line.voiced[i]) continue;
        s.readings += weights[i];
        if (i + apart >= std::min(to, line.size()) || !line.voiced[i + apart]) continue;
        away.push_back(std::abs(line.cents[i + apart] - line.cents[i]));
    }
    if (away.size() < 4) {
        s.spread = 8.0;
        return s;
    }
    // The middle of |difference of two normal readings| is .954 of one reading's deviation.
    s.spread = median(std::move(away)) / 0.954;
    return s;
}

Scatter scatter_of(const FineLine& line, const std::vector<double>& weights, const Seconds from,
                   const Seconds to) {
    return scatter_of(line, weights, line.index_of(from.value()), line.index_of(to.value()));
}

class Stater {
  public:
    Stater(Note& note, const ReadNote& read, const FineLine& line,
           const std::vector<double>& weights, const NoteSettings& settings)
        : note_(note), line_(line), weights_(weights), settings_(settings) {
        for (const Hold& h : read.plain) {
            const Scatter s =
                scatter_of(line, weights, std::max(h.from, read.from), std::min(h.to, read.to));
            const double both = plain_.readings + s.readings;
            if (both > 0.0) {
                plain_.spread = (plain_.spread * plain_.readings + s.spread * s.readings) / both;
            }
            plain_.readings = both;
        }
        double likeness = 0.0;
        double n = 0.0;
        for (std::size_t i = read.from; i < std::min(read.to, line.size()); ++i) {
            if (!line.voiced[i]) continue;
            likeness += line.quality[i];
            n += 1.0;
        }
        alone_ = likeness >= alone_likeness * n;
    }

    void state() {
        if (note_.cents) note_.cents_error = Cents(stated(Measured::cents, plain_.of_mean()));
        for (Inflection& i : note_.inflections)
            std::visit([this](auto& k) { set(k); }, i.what);
    }

  private:
    double stated(Measured figure, double raw) const {
        const ErrorScale& s = error_scale(figure, alone_);
        return std::hypot(s.factor * raw, s.least);
    }
    // A step is seen to a part of the window that the line looks through, better where it is far
    // above the scatter.
    double time_error(double jump) const {
        const double blur = line_blur(100.0 * note_.key.value(), settings_);
        return blur * std::clamp(0.1 + plain_.spread / std::max(30.0, std::abs(jump)), 0.1, 1.0);
    }
    void set(SlideIn& s) const {
        const double jump = s.from ? 100.0 * (note_.key.value() - s.from->value()) : 100.0;
        if (s.span) s.span_error = Seconds(stated(Measured::arrival, time_error(jump)));
    }
    void set(SlideOut& s) const {
        if (s.span) s.span_error = Seconds(stated(Measured::leaving, time_error(100.0)));
    }
    void set(SlideToNext& s) const {
        if (s.span) s.span_error = Seconds(stated(Measured::leaving_on, time_error(100.0)));
    }
    void set(Bend& b) const {
        Scatter up = plain_;
        if (b.prebend && b.release_span)
            up = scatter_of(line_, weights_, note_.onset, b.release_span->from);
        else if (b.peak)
            up = scatter_of(line_, weights_, *b.peak,
                            b.release_span ? b.release_span->from : note_.offset);
        b.size_error = Cents(stated(Measured::bend, std::hypot(up.of_mean(), plain_.of_mean())));
    }
    // The Cramér-Rao bounds of one sinusoid in noise (Rife & Boorstyn 1974).
    void set(Vibrato& v) const {
        if (!v.span) return;
        const Scatter s = scatter_of(line_, weights_, v.span->from, v.span->to);
        const double seconds = (v.span->to - v.span->from).value();
        const double n = std::max(2.0, s.readings);
        const double depth = std::max(1.0, v.depth.value());
        // Readings 20 ms apart also differ by the swing itself.
        const double swing =
            depth * 2.0 * std::sin(std::numbers::pi * v.rate.value() * 0.02) * 0.7071;
        const double noise = std::sqrt(std::max(1.0, s.spread * s.spread - swing * swing));
        v.depth_error = Cents(stated(Measured::depth, noise * std::sqrt(2.0 / n)));
        v.rate_error = Hertz(stated(
            Measured::rate, noise * std::sqrt(6.0 / n) / (std::numbers::pi * depth * seconds)));
    }
    void set(const Trill&) const {}
    void set(const Staccato&) const {}
    void set(const Accent&) const {}

    Note& note_;
    const FineLine& line_;
    const std::vector<double>& weights_;
    const NoteSettings& settings_;
    Scatter plain_{};
    bool alone_ = false;
};

}  // namespace

const ErrorScale& error_scale(Measured figure, bool alone) {
    return scales.at(static_cast<std::size_t>(figure)).at(alone ? 0 : 1);
}

void state_errors(Note& note, const ReadNote& read, const FineLine& line,
                  const std::vector<double>& weights, const NoteSettings& settings) {
    Stater(note, read, line, weights, settings).state();
}

}  // namespace bentline::notes
