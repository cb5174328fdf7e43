#include "tests/corpus/plain_tone.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

#include "tests/corpus/repetition.h"

namespace bentline::corpus {

namespace {

// Where it is measured. The first windows are short, because a plucked tone falls quickly at first;
// low strings get three periods at least.
struct Spot {
    double at, width;
};
std::vector<Spot> spots(Drift drift) {
    if (drift == Drift::plucked) {
        return {{0.045, 0.07}, {0.10, 0.08}, {0.16, 0.08}, {0.25, 0.1}, {0.4, 0.1},
                {0.6, 0.12},   {0.9, 0.15},  {1.3, 0.2},   {1.8, 0.2}};
    }
    std::vector<Spot> all;
    for (int i = 0; i < 72; ++i)
        all.push_back({0.04 + 0.025 * i, 0.06});
    return all;
}

// The pitch of a plain tone at times since it speaks.
std::vector<std::pair<Seconds, Cents>> measure_drift(std::span<const float> x, SampleRate rate,
                                                     MidiKey key, Drift drift) {
    std::vector<std::pair<Seconds, Cents>> found;
    const Hertz nominal = frequency(Pitch(key));
    Hertz expected = nominal;
    for (const Spot& s : spots(drift)) {
        const auto from = static_cast<std::size_t>((s.at - s.width / 2) * rate.value());
        const auto size = static_cast<std::size_t>(s.width * rate.value());
        if (from + size > x.size()) break;
        if (const auto f = repetition_rate(x.subspan(from, size), rate, expected)) {
            found.emplace_back(Seconds(s.at), interval(nominal, *f));
            expected = *f;
        }
    }
    return found;
}

Decibels loudest(std::span<const float> x, SampleRate rate) {
    const auto width = static_cast<std::size_t>(rate.value() / 50);
    double best = 0.0;
    for (std::size_t i = 0; i + width <= x.size(); i += width / 4) {
        double power = 0.0;
        for (std::size_t k = i; k < i + width; ++k)
            power += static_cast<double>(x[k]) * x[k];
        best = std::max(best, power / static_cast<double>(width));
    }
    return Decibels(10.0 * std::log10(best + 1e-20));
}

}  // namespace

Cents PlainTone::pitch_at(Seconds t) const {
    if (drift.empty()) return Cents(0);
    if (t <= drift.front().first) return drift.front().second;
    for (std::size_t i = 1; i < drift.size(); ++i) {
        if (t < drift[i].first) {
            const auto& [ta, a] = drift[i - 1];
            const auto& [tb, b] = drift[i];
            return a + (b - a) * ((t - ta) / (tb - ta));
        }
    }
    return drift.back().second;
}

PlainTone measure_plain_tone(std::span<const float> x, SampleRate rate, MidiKey key, Drift drift) {
    float peak = 0.0F;
    for (float v : x)
        peak = std::max(peak, std::abs(v));
    std::size_t speaks = 0;
    while (speaks + 1 < x.size() && std::abs(x[speaks]) < 0.1F * peak)
        ++speaks;
    PlainTone tone;
    tone.delay = to_seconds(Frames(static_cast<std::int64_t>(speaks)), rate);
    tone.level = loudest(x, rate);
    const auto low = low_partials(x, rate, frequency(Pitch(key)));
    tone.drift = measure_drift(std::span(low).subspan(speaks), rate, key, drift);
    return tone;
}

}  // namespace bentline::corpus
