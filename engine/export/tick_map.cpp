// Seconds of the recording to ticks of a MIDI file.
#include "engine/export/tick_map.h"

#include <algorithm>
#include <cmath>

namespace bentline {
namespace {

constexpr std::uint32_t default_tempo = 500000;    // microseconds a quarter note: 120 a minute
constexpr std::uint32_t slowest_event = 0xFFFFFF;  // three bytes
constexpr Seconds coarsest_tick{0.0018};           // half of it stays within tick_accuracy
constexpr std::uint16_t finest_division = 15360;
constexpr Seconds whole_beat_slack{0.001};  // a shorter lead-in is none

std::uint32_t tempo_event(Seconds span, double quarters) {
    const double us = span.value() * 1e6 / quarters;
    return static_cast<std::uint32_t>(std::clamp(std::round(us), 1.0, double{slowest_event}));
}

}  // namespace

TickMap::TickMap(const std::optional<BarMap>& bars, Seconds first, Seconds last) {
    if (first < Seconds(0.0)) start_ = Seconds(std::floor(first.value()));
    if (!bars) {
        tempos_ = {{0, default_tempo}};
        tempo_times_ = {Seconds(0.0)};
        metres_ = {{0, Metre{}}};
        return;
    }
    const std::vector<Beat> beats = beats_of(*bars, last);
    for (std::size_t i = 0; i + 1 < beats.size(); ++i) {
        const Seconds quarter = (beats[i + 1].time - beats[i].time) / beats[i].quarters;
        while (quarter / division_ > coarsest_tick && division_ < finest_division) {
            division_ = static_cast<std::uint16_t>(division_ * 2);
        }
    }
    lay_out(beats);
    lay_metres(beats, *bars);
}

// Every beat from the start of the file to the bar line after `last`, and that bar line.
std::vector<TickMap::Beat> TickMap::beats_of(const BarMap& bars, Seconds last) const {
    std::vector<Beat> beats;
    const auto add = [&](double beat) {
        const BarBeat at = bars.position_of(Beats(beat));
        const double quarters = bars.metre_at(at.bar).quarters_per_beat();
        beats.push_back(
            {bars.time_of(Beats(beat)), quarters, at.bar, static_cast<int>(at.beat.value())});
    };
    double beat = std::ceil(bars.beats_at(start_).value() - 1e-9);
    const Seconds lead = bars.time_of(Beats(beat)) - start_;
    if (lead > whole_beat_slack) {
        // The stretch before the first beat counts as the beat before it, if it is most of one;
        // else it lengthens the first beat.
        const Seconds whole = bars.time_of(Beats(beat)) - bars.time_of(Beats(beat - 1.0));
        if (lead >= whole * 0.5) beat -= 1.0;
    }
    add(beat);
    beats.front().time = start_;
    do {
        beat += 1.0;
        add(beat);
    } while (beats.back().time < last || beats.back().beat_of_bar != 0);
    return beats;
}

// Tempo events: a new one only where going on would put the next beat off by half of beat_accuracy.
void TickMap::lay_out(const std::vector<Beat>& beats) {
    std::int64_t tick = 0;
    Seconds now{0.0};  // of the file, from its start
    for (std::size_t i = 0; i + 1 < beats.size(); ++i) {
        const Beat& b = beats[i];
        if (b.beat_of_bar == 0) bar_ticks_.emplace_back(b.bar, tick);
        const Seconds wanted = beats[i + 1].time - start_ - now;
        const auto going_on = [&] {
            return Seconds(tempos_.back().microseconds * 1e-6 * b.quarters);
        };
        const bool on_time = !tempos_.empty() &&
                             std::abs((going_on() - wanted).value()) < 0.5 * beat_accuracy.value();
        if (!on_time) {
            tempos_.push_back({tick, tempo_event(wanted, b.quarters)});
            tempo_times_.push_back(now);
        }
        now += going_on();
        tick += std::llround(b.quarters * division_);
    }
    bar_ticks_.emplace_back(beats.back().bar, tick);
}

void TickMap::lay_metres(const std::vector<Beat>& beats, const BarMap& bars) {
    const auto first_line =
        std::find_if(beats.begin(), beats.end(), [](const Beat& b) { return b.beat_of_bar == 0; });
    if (first_line != beats.begin()) {
        // A short first bar of as many beats as there are.
        Metre shorter = bars.metre_at(beats.front().bar);
        const auto count = static_cast<int>(first_line - beats.begin());
        shorter.count = shorter.compound() ? count * 3 : count;
        metres_.push_back({0, shorter});
    }
    for (const auto& [bar, tick] : bar_ticks_) {
        const Metre metre = bars.metre_at(bar);
        if (metres_.empty() || metres_.back().metre != metre) metres_.push_back({tick, metre});
    }
}

std::int64_t TickMap::tick_of(Seconds time) const {
    const Seconds t = time - start_;
    const auto after = std::upper_bound(tempo_times_.begin(), tempo_times_.end(), t);
    const std::size_t i = after == tempo_times_.begin()
                              ? 0
                              : static_cast<std::size_t>(after - tempo_times_.begin()) - 1;
    const double quarters = (t - tempo_times_[i]).value() * 1e6 / tempos_[i].microseconds;
    return std::max<std::int64_t>(0, tempos_[i].tick + std::llround(quarters * division_));
}

Seconds TickMap::time_of(std::int64_t tick) const {
    std::size_t i = tempos_.size() - 1;
    while (i > 0 && tempos_[i].tick > tick)
        --i;
    const double quarters = static_cast<double>(tick - tempos_[i].tick) / division_;
    return start_ + tempo_times_[i] + Seconds(quarters * tempos_[i].microseconds * 1e-6);
}

std::optional<std::int64_t> TickMap::tick_of_bar(int bar) const {
    for (const auto& [b, tick] : bar_ticks_) {
        if (b == bar) return tick;
    }
    return std::nullopt;
}

}  // namespace bentline
