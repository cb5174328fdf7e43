// Conversions of the bar map, and the checks on its parts.
#include "engine/bars/bar_map.h"

#include <algorithm>
#include <charconv>
#include <cmath>

namespace bentline {
namespace {

constexpr double whole_beat_slack = 1e-6;  // beats; see BarMap::position_of

Failure refused(std::string sentence) {
    return {FailureKind::out_of_range, std::move(sentence), {}};
}

std::string milliseconds_text(Seconds t) {
    const auto ms = std::llround(std::abs(t.value()) * 1000.0);
    std::string text = t.value() < 0.0 && ms > 0 ? "-" : "";
    text += std::to_string(ms / 1000) + "." + std::to_string(1000 + ms % 1000).substr(1);
    return text;
}

// The beat length at an end of a row of beats: the mean of up to four intervals there, so that one
// late tap does not bend everything beyond it.
Seconds edge_beat(const std::vector<Seconds>& beats, bool at_front) {
    const std::size_t n = std::min<std::size_t>(4, beats.size() - 1);
    const Seconds from = at_front ? beats.front() : beats[beats.size() - 1 - n];
    const Seconds to = at_front ? beats[n] : beats.back();
    return (to - from) / static_cast<double>(n);
}

std::optional<Failure> bad_anchors(const std::vector<BarMap::Anchor>& anchors) {
    if (anchors.empty())
        return refused("A bar map needs at least one beat: tap one, or give a tempo");
    for (std::size_t i = 0; i < anchors.size(); ++i) {
        const BarMap::Anchor& a = anchors[i];
        if (!std::isfinite(a.time.value()) || std::abs(a.time.value()) > 1e6) {
            return refused("Beat " + std::to_string(i + 1) + " has no usable time");
        }
        if (i > 0 && (a.beat <= anchors[i - 1].beat || a.time <= anchors[i - 1].time)) {
            return refused("The beats are out of order: beat " + std::to_string(i + 1) + " at " +
                           milliseconds_text(a.time) + " s does not come after " +
                           milliseconds_text(anchors[i - 1].time) + " s; sort or remove it");
        }
    }
    return std::nullopt;
}

std::optional<Failure> bad_metres(const BarMap::Parts& parts) {
    if (parts.metres.empty() || parts.metres.front().bar != 1) {
        return refused("The first metre of a bar map stands at bar 1");
    }
    for (std::size_t i = 0; i < parts.metres.size(); ++i) {
        const auto& [bar, metre] = parts.metres[i];
        if (!metre.valid()) return refused(to_text(metre) + " is not a metre: use 4/4, 3/4, 6/8 …");
        if (i > 0 && bar <= parts.metres[i - 1].bar) {
            return refused("The metre changes are out of order at bar " + std::to_string(bar));
        }
    }
    const int bar_length = parts.metres.front().metre.beats_per_bar();
    if (parts.pickup < 0 || parts.pickup >= bar_length) {
        return refused("A pickup of " + std::to_string(parts.pickup) +
                       " beats does not fit before a bar of " + std::to_string(bar_length) +
                       ": it is shorter than a bar");
    }
    for (std::size_t i = 0; i < parts.free_bars.size(); ++i) {
        const Range<int>& r = parts.free_bars[i];
        if (r.empty() || (i > 0 && r.from < parts.free_bars[i - 1].to)) {
            return refused("The stretches without a pulse are out of order at bar " +
                           std::to_string(r.from));
        }
    }
    return std::nullopt;
}

}  // namespace

Result<BarMap> BarMap::constant(Tempo tempo, Seconds bar_one, Metre metre) {
    if (!(tempo >= slowest_tempo && tempo <= fastest_tempo)) {
        return refused("The tempo must lie between 20 and 400 beats a minute");
    }
    Parts parts;
    parts.anchors = {{0, bar_one}};
    parts.beat_before = parts.beat_after = beat_length(tempo);
    parts.metres = {{1, metre}};
    return make(std::move(parts));
}

Result<BarMap> BarMap::from_beats(const std::vector<Seconds>& beats, int bar_one, Metre metre) {
    if (beats.size() < 2)
        return refused("A bar map needs at least two beats: tap on, or give a tempo");
    Parts parts;
    for (std::size_t i = 0; i < beats.size(); ++i) {
        parts.anchors.push_back({static_cast<int>(i) - bar_one, beats[i]});
    }
    if (auto bad = bad_anchors(parts.anchors)) return *bad;
    parts.beat_before = edge_beat(beats, true);
    parts.beat_after = edge_beat(beats, false);
    parts.metres = {{1, metre}};
    return make(std::move(parts));
}

Result<BarMap> BarMap::make(Parts parts) {
    if (auto bad = bad_anchors(parts.anchors)) return *bad;
    for (const Seconds beat : {parts.beat_before, parts.beat_after}) {
        if (!(beat > Seconds(0.0)) || !(beat <= Seconds(60.0))) {
            return refused("A beat of the bar map lasts longer than nothing and at most a minute");
        }
    }
    if (auto bad = bad_metres(parts)) return *bad;
    return BarMap(std::move(parts));
}

Seconds BarMap::time_of(Beats position) const {
    const auto& row = parts_->anchors;
    const double b = position.value();
    const auto next = std::upper_bound(row.begin(), row.end(), b,
                                       [](double at, const Anchor& a) { return at < a.beat; });
    if (next == row.begin()) return row.front().time + parts_->beat_before * (b - row.front().beat);
    const Anchor& before = *(next - 1);
    if (next == row.end()) return before.time + parts_->beat_after * (b - before.beat);
    const double share = (b - before.beat) / (next->beat - before.beat);
    return before.time + (next->time - before.time) * share;
}

Beats BarMap::beats_at(Seconds time) const {
    const auto& row = parts_->anchors;
    const auto next = std::upper_bound(row.begin(), row.end(), time,
                                       [](Seconds at, const Anchor& a) { return at < a.time; });
    if (next == row.begin()) {
        return Beats(row.front().beat + (time - row.front().time) / parts_->beat_before);
    }
    const Anchor& before = *(next - 1);
    if (next == row.end()) return Beats(before.beat + (time - before.time) / parts_->beat_after);
    const double share = (time - before.time) / (next->time - before.time);
    return Beats(before.beat + share * (next->beat - before.beat));
}

Beats BarMap::beats_of(BarBeat position) const {
    const auto& metres = parts_->metres;
    double beats = 0.0;
    std::size_t i = 0;
    for (; i + 1 < metres.size() && metres[i + 1].bar <= position.bar; ++i) {
        beats += (metres[i + 1].bar - metres[i].bar) * metres[i].metre.beats_per_bar();
    }
    beats += (position.bar - metres[i].bar) * metres[i].metre.beats_per_bar();
    return Beats(beats) + position.beat;
}

BarBeat BarMap::position_of(Beats position) const {
    const auto& metres = parts_->metres;
    double left = position.value();
    if (std::abs(left - std::round(left)) <= whole_beat_slack) left = std::round(left);
    std::size_t i = 0;
    for (; i + 1 < metres.size(); ++i) {
        const double length = (metres[i + 1].bar - metres[i].bar) * metres[i].metre.beats_per_bar();
        if (left < length) break;
        left -= length;
    }
    const int per_bar = metres[i].metre.beats_per_bar();
    const double bars = std::floor(left / per_bar);
    return {metres[i].bar + static_cast<int>(bars), Beats(left - bars * per_bar)};
}

SecondsRange BarMap::bar_span(int bar) const {
    return {time_of(BarBeat{bar, Beats(0.0)}), time_of(BarBeat{bar + 1, Beats(0.0)})};
}

Metre BarMap::metre_at(int bar) const {
    Metre found = parts_->metres.front().metre;
    for (const MetreFrom& m : parts_->metres) {
        if (m.bar <= bar) found = m.metre;
    }
    return found;
}

bool BarMap::free_at(int bar) const {
    return std::any_of(parts_->free_bars.begin(), parts_->free_bars.end(),
                       [bar](const Range<int>& r) { return r.contains(bar); });
}

Tempo BarMap::tempo_at(Beats position) const {
    const double from = std::floor(position.value());
    return tempo_of(time_of(Beats(from + 1.0)) - time_of(Beats(from)));
}

Result<BarMap> BarMap::with_metre(Metre metre) const {
    Parts parts = *parts_;
    parts.metres = {{1, metre}};
    if (metre.valid() && parts.pickup >= metre.beats_per_bar()) parts.pickup = 0;
    return make(std::move(parts));
}

Result<BarMap> BarMap::with_pickup(int beats) const {
    Parts parts = *parts_;
    parts.pickup = beats;
    return make(std::move(parts));
}

Result<Seconds> parse_place(std::string_view text, const std::optional<BarMap>& bars) {
    if (text.find(':') == std::string_view::npos) {
        double seconds = 0.0;
        const char* end = text.data() + text.size();
        const auto [stop, error] = std::from_chars(text.data(), end, seconds);
        if (error == std::errc{} && stop == end && std::isfinite(seconds)) return Seconds(seconds);
        return refused("'" + std::string(text) +
                       "' is not a time: write seconds, such as 12.5, or bar:beat, such as 7:1");
    }
    const auto position = parse_bar_beat(text);
    if (!position) return position.failure();
    if (!bars) {
        return refused(
            "'" + std::string(text) +
            "' needs bars, and there is no bar map yet: write seconds, or place the bars first");
    }
    const Metre metre = bars->metre_at(position->bar);
    if (position->beat >= Beats(metre.beats_per_bar())) {
        return refused("Bar " + std::to_string(position->bar) + " has no beat " +
                       to_text(*position).substr(to_text(*position).find(':') + 1) +
                       ": it is a bar of " + to_text(metre) + " with " +
                       std::to_string(metre.beats_per_bar()) + " beats");
    }
    return bars->time_of(*position);
}

std::string place_name(Seconds time, const std::optional<BarMap>& bars) {
    if (bars) {
        // Rounded as it is printed, before it is put into a bar: just before bar 7 is "7:1", not
        // "6:5".
        const double printed = std::round(bars->beats_at(time).value() * 1000.0) / 1000.0;
        return "bar " + to_text(bars->position_of(Beats(printed)));
    }
    return milliseconds_text(time) + " s";
}

}  // namespace bentline
