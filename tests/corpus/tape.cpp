// Warps a recording in time as a tape does, and its truth with it.
#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <type_traits>
#include <variant>

#include "tests/corpus/room.h"

namespace bentline::corpus {

namespace {

// Where on the tape (source time) the playback is after each `step`, and how fast.
class Warp {
  public:
    Warp(const Tape& tape, Seconds until) : tape_(tape) {
        source_.push_back(0.0);
        while (source_.back() < until.value() + 0.1) {
            // Simpson's rule over one step.
            const double u = step * static_cast<double>(source_.size() - 1);
            source_.push_back(source_.back() +
                              step / 6.0 *
                                  (speed(u) + 4.0 * speed(u + step / 2) + speed(u + step)));
        }
    }
    double speed(double played) const {
        const double wow =
            tape_.wow_depth.value() *
            std::sin(2.0 * std::numbers::pi * tape_.wow_rate.value() * played + tape_.phase);
        return std::exp2((tape_.off.value() + wow) / 1200.0);
    }
    double source_at(double played) const {
        const double x =
            std::clamp(played / step, 0.0, static_cast<double>(source_.size()) - 1.000001);
        const auto i = static_cast<std::size_t>(x);
        return source_[i] + (source_[i + 1] - source_[i]) * (x - static_cast<double>(i));
    }
    Seconds played_at(Seconds source) const {
        const auto it = std::upper_bound(source_.begin() + 1, source_.end() - 1, source.value());
        const auto i = static_cast<std::size_t>(it - source_.begin());
        const double x = (source.value() - source_[i - 1]) / (source_[i] - source_[i - 1]);
        return Seconds(step * (static_cast<double>(i - 1) + x));
    }

  private:
    static constexpr double step = 0.002;
    Tape tape_;
    std::vector<double> source_;
};

// Band-limited reading between samples: 32 taps of a Hann-windowed sinc.
float read(const std::vector<float>& x, double at) {
    constexpr int half = 16;
    const auto centre = static_cast<std::ptrdiff_t>(std::floor(at));
    const double fraction = at - static_cast<double>(centre);
    const double sine = std::sin(std::numbers::pi * fraction) / std::numbers::pi;
    // The window's cosine by the addition theorem: its part in k is the same for every sample.
    struct Turn {
        double cosine, sine;
    };
    static const std::array<Turn, 2 * half> turns = [] {
        std::array<Turn, 2 * half> t{};
        for (int k = 1 - half; k <= half; ++k) {
            const double angle = std::numbers::pi * k / half;
            t[static_cast<std::size_t>(k + half - 1)] = {std::cos(angle), std::sin(angle)};
        }
        return t;
    }();
    const double along = std::cos(std::numbers::pi * fraction / half);
    const double across = std::sin(std::numbers::pi * fraction / half);
    double sum = 0.0;
    for (int k = 1 - half; k <= half; ++k) {
        const std::ptrdiff_t i = centre + k;
        if (i < 0 || i >= static_cast<std::ptrdiff_t>(x.size())) continue;
        const double d = fraction - k;
        const double sinc = std::abs(d) < 1e-9 ? 1.0 : (k % 2 == 0 ? sine : -sine) / d;
        const Turn& turn = turns[static_cast<std::size_t>(k + half - 1)];
        const double window = 0.5 + 0.5 * (along * turn.cosine + across * turn.sine);
        sum += sinc * window * x[static_cast<std::size_t>(i)];
    }
    return static_cast<float>(sum);
}

void warp_span(std::optional<SecondsRange>& span, const Warp& w) {
    if (span) span = SecondsRange{w.played_at(span->from), w.played_at(span->to)};
}

void warp_inflection(InflectionKind& kind, const Warp& w) {
    std::visit(
        [&w](auto& k) {
            using K = std::decay_t<decltype(k)>;
            if constexpr (std::is_same_v<K, Bend>) {
                if (k.start) k.start = w.played_at(*k.start);
                if (k.peak) k.peak = w.played_at(*k.peak);
                warp_span(k.release_span, w);
            } else if constexpr (std::is_same_v<K, Vibrato>) {
                if (!k.span) return;
                const double slow = k.span->to.value() - k.span->from.value();
                warp_span(k.span, w);
                k.rate = k.rate * (slow / (k.span->to - k.span->from).value());
            } else if constexpr (std::is_same_v<K, SlideIn> || std::is_same_v<K, SlideOut> ||
                                 std::is_same_v<K, SlideToNext>) {
                warp_span(k.span, w);
            }
        },
        kind);
}

}  // namespace

void run_tape(const Tape& tape, Stereo& sound, Truth& truth, SampleRate rate) {
    if (tape.still()) return;
    const Warp warp(tape, to_seconds(Frames(static_cast<std::int64_t>(sound.left.size())), rate));
    const Seconds end =
        warp.played_at(to_seconds(Frames(static_cast<std::int64_t>(sound.left.size())), rate));
    const auto frames = static_cast<std::size_t>(to_frames(end, rate).value());
    Stereo played{std::vector<float>(frames), std::vector<float>(frames)};
    for (std::size_t i = 0; i < frames; ++i) {
        const double at = warp.source_at(static_cast<double>(i) / rate.value()) * rate.value();
        played.left[i] = read(sound.left, at);
        played.right[i] = read(sound.right, at);
    }
    sound = std::move(played);

    std::vector<std::optional<Hertz>> rows(static_cast<std::size_t>(end / row_step) + 1);
    for (std::size_t i = 0; i < rows.size(); ++i) {
        const double u = (row_step * static_cast<double>(i)).value();
        // Between two rows of the source; next to silence the nearer one.
        const double x = warp.source_at(u) / row_step.value();
        const auto a = std::min(static_cast<std::size_t>(x), truth.rows.size() - 1);
        const std::size_t b = std::min(a + 1, truth.rows.size() - 1);
        const double share = x - static_cast<double>(a);
        const auto& near = truth.rows[share < 0.5 ? a : b];
        if (!near) continue;
        Hertz f = *near;
        if (truth.rows[a] && truth.rows[b] &&
            std::abs(interval(*truth.rows[a], *truth.rows[b]).value()) < 60.0) {
            f = *truth.rows[a] * std::pow(*truth.rows[b] / *truth.rows[a], share);
        }
        rows[i] = f * warp.speed(u);
    }
    truth.rows = std::move(rows);
    for (Note& n : truth.notes) {
        n.onset = warp.played_at(n.onset);
        n.offset = warp.played_at(n.offset);
        for (Inflection& i : n.inflections)
            warp_inflection(i.what, warp);
    }
    for (Seconds& beat : truth.beats)
        beat = warp.played_at(beat);
    truth.tuning = tape.off;
}

}  // namespace bentline::corpus
