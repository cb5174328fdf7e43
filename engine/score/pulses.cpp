// Pulses are beats, or their halves where the beat is a half note, and so on.
#include "engine/score/pulses.h"

#include <algorithm>
#include <cmath>

namespace bentline {

Ticks bar_length(const Metre& metre) {
    return Ticks(4 * quarter.value() * metre.count / metre.unit);
}

Ticks bar_start(const BarMap& bars, int bar) {
    Ticks at(0);
    for (int b = 1; b < bar; ++b)
        at += bar_length(bars.metre_at(b));
    for (int b = 0; b >= bar; --b)
        at = at - bar_length(bars.metre_at(b));
    return at;
}

std::vector<Pulse> pulses_of_bars(const BarMap& bars, int first, int last) {
    std::vector<Pulse> pulses;
    Ticks at = bar_start(bars, first);
    for (int bar = first; bar <= last; ++bar) {
        const Metre metre = bars.metre_at(bar);
        const Ticks unit(4 * quarter.value() / metre.unit);
        const Ticks length = metre.compound() ? unit * 3 : std::min(quarter, unit);
        const Beats from = bars.beats_of(BarBeat{bar, Beats(0.0)});
        const std::int64_t count = bar_length(metre).value() / length.value();
        const double beats_each =
            static_cast<double>(metre.beats_per_bar()) / static_cast<double>(count);
        for (std::int64_t i = 0; i < count; ++i) {
            const Seconds start = bars.time_of(from + Beats(beats_each * static_cast<double>(i)));
            const Seconds end = bars.time_of(from + Beats(beats_each * static_cast<double>(i + 1)));
            pulses.push_back({bar, at, length, start, end, metre.compound(), Grid::eighths});
            at += length;
        }
    }
    return pulses;
}

double pulse_at(const std::vector<Pulse>& pulses, Seconds time) {
    const auto after = std::upper_bound(pulses.begin(), pulses.end(), time,
                                        [](Seconds t, const Pulse& p) { return t < p.from; });
    const auto index = std::max<std::ptrdiff_t>(0, after - pulses.begin() - 1);
    const Pulse& p = pulses[static_cast<std::size_t>(index)];
    return static_cast<double>(index) + (time - p.from) / (p.to - p.from);
}

}  // namespace bentline
