// Edits of the bar map.
#include "engine/bars/bar_edits.h"

#include <algorithm>
#include <cmath>
#include <string>

namespace bentline {
namespace {

using Parts = BarMap::Parts;

constexpr std::size_t most_taps = 100000;

Failure refused(std::string sentence) {
    return {FailureKind::out_of_range, std::move(sentence), {}};
}

int whole_beat(Beats b) {
    return static_cast<int>(std::lround(b.value()));
}

// Makes a beat an anchor where it is, so that it stays when others move.
void pin(Parts& parts, const BarMap& map, int beat) {
    const auto at = std::lower_bound(parts.anchors.begin(), parts.anchors.end(), beat,
                                     [](const BarMap::Anchor& a, int b) { return a.beat < b; });
    if (at != parts.anchors.end() && at->beat == beat) return;
    parts.anchors.insert(at, {beat, map.time_of(Beats(beat))});
}

void drop_anchors_inside(Parts& parts, int from, int to) {
    std::erase_if(parts.anchors,
                  [=](const BarMap::Anchor& a) { return a.beat > from && a.beat < to; });
}

// Bars from `bar` on are called `by` higher.
void renumber(Parts& parts, int bar, int by) {
    for (BarMap::MetreFrom& m : parts.metres) {
        if (m.bar > 1 && m.bar >= bar) m.bar += by;
    }
    for (Range<int>& r : parts.free_bars) {
        if (r.from >= bar) r.from += by;
        if (r.to >= bar) r.to += by;
    }
    std::erase_if(parts.free_bars, [](const Range<int>& r) { return r.empty(); });
}

std::optional<Failure> not_a_counted_bar(int bar) {
    if (bar >= 1 && bar < 100000) return std::nullopt;
    return refused("Bar " + std::to_string(bar) +
                   (bar < 1 ? " lies before bar 1" : " is past the end of any tune") +
                   ": choose a bar of the tune");
}

// The median of up to nine distances around one.
Seconds usual_distance(const std::vector<Seconds>& taps, std::size_t i) {
    const std::size_t from = i > 4 ? i - 4 : 0;
    const std::size_t to = std::min(taps.size() - 1, i + 5);
    std::vector<Seconds> distances;
    for (std::size_t k = from; k < to; ++k)
        distances.push_back(taps[k + 1] - taps[k]);
    const auto middle = distances.begin() + static_cast<std::ptrdiff_t>((distances.size() - 1) / 2);
    std::nth_element(distances.begin(), middle, distances.end());
    return *middle;
}

std::vector<Seconds> without_doubles(const std::vector<Seconds>& taps) {
    std::vector<Seconds> kept = {taps.front()};
    for (std::size_t i = 1; i < taps.size(); ++i) {
        const Seconds usual = usual_distance(taps, i - 1);
        if (taps[i] - kept.back() > std::max(closest_beats, usual / 3.0)) kept.push_back(taps[i]);
    }
    return kept;
}

std::vector<Seconds> with_missed(const std::vector<Seconds>& taps) {
    std::vector<Seconds> all = {taps.front()};
    for (std::size_t i = 0; i + 1 < taps.size(); ++i) {
        const Seconds gap = taps[i + 1] - taps[i];
        const auto beats = std::max(1L, std::lround(gap / usual_distance(taps, i)));
        for (long k = 1; k <= beats; ++k) {
            all.push_back(taps[i] + gap * (static_cast<double>(k) / static_cast<double>(beats)));
        }
    }
    return all;
}

Seconds snapped(Seconds t, const std::vector<Seconds>& onsets) {
    const auto after = std::lower_bound(onsets.begin(), onsets.end(), t);
    Seconds nearest = t;
    Seconds distance = tap_snap;
    for (auto at : {after, after == onsets.begin() ? onsets.end() : after - 1}) {
        if (at == onsets.end()) continue;
        const Seconds d = std::max(*at - t, t - *at);
        if (d <= distance) {
            distance = d;
            nearest = *at;
        }
    }
    return nearest;
}

}  // namespace

Result<std::vector<Seconds>> read_taps(std::vector<Seconds> taps,
                                       const std::vector<Seconds>& onsets) {
    if (taps.size() < 3) return refused("Three taps at least make a row of beats: tap on");
    if (taps.size() > most_taps) return refused("These are too many taps for one recording");
    for (const Seconds t : taps) {
        if (!std::isfinite(t.value())) return refused("A tap has no usable time");
    }
    std::sort(taps.begin(), taps.end());
    taps = without_doubles(taps);
    if (taps.size() < 3) return refused("Three taps at least make a row of beats: tap on");
    taps = with_missed(taps);
    std::vector<Seconds> beats;
    for (const Seconds t : taps) {
        const Seconds s = snapped(t, onsets);
        const bool apart = beats.empty() || s - beats.back() >= closest_beats;
        beats.push_back(apart ? s : std::max(t, beats.back() + closest_beats));
    }
    return beats;
}

Result<BarMap> tap_along(std::vector<Seconds> taps, const std::vector<Seconds>& onsets,
                         Metre metre) {
    const auto beats = read_taps(std::move(taps), onsets);
    if (!beats) return beats.failure();
    return BarMap::from_beats(*beats, 0, metre);
}

Result<BarMap> drag_beat(const BarMap& map, int beat, Seconds to) {
    const Seconds before = map.time_of(Beats(beat - 1));
    const Seconds after = map.time_of(Beats(beat + 1));
    if (!(to >= before + closest_beats && to <= after - closest_beats)) {
        return refused(
            "A beat stays between its neighbours, at least 50 ms from each: move those first");
    }
    Parts parts = map.parts();
    for (const int b : {beat - 1, beat, beat + 1})
        pin(parts, map, b);
    for (BarMap::Anchor& a : parts.anchors) {
        if (a.beat == beat) a.time = to;
    }
    return BarMap::make(std::move(parts));
}

Result<BarMap> bar_one_here(const BarMap& map, Seconds time) {
    const int beat = whole_beat(map.beats_at(time));
    Parts parts = map.parts();
    for (BarMap::Anchor& a : parts.anchors)
        a.beat -= beat;
    return BarMap::make(std::move(parts));
}

Result<BarMap> bar_one_exactly_here(const BarMap& map, Seconds time) {
    const int beat = whole_beat(map.beats_at(time));
    const Seconds by = time - map.time_of(Beats(beat));
    Parts parts = map.parts();
    for (BarMap::Anchor& a : parts.anchors) {
        a.beat -= beat;
        a.time += by;
    }
    return BarMap::make(std::move(parts));
}

Result<BarMap> double_time(const BarMap& map) {
    if (!map.single_metre())
        return refused("The metre changes on the way: bring the bars to one metre first");
    Parts parts = map.parts();
    for (BarMap::Anchor& a : parts.anchors)
        a.beat *= 2;
    parts.beat_before = parts.beat_before / 2.0;
    parts.beat_after = parts.beat_after / 2.0;
    parts.pickup = std::min(parts.pickup * 2, map.metre().beats_per_bar() - 1);
    parts.free_bars.clear();
    return BarMap::make(std::move(parts));
}

Result<BarMap> half_time(const BarMap& map) {
    if (!map.single_metre())
        return refused("The metre changes on the way: bring the bars to one metre first");
    Parts parts = map.parts();
    const auto half = [](int beat) {
        return beat >= 0 ? beat / 2 : -((1 - beat) / 2);
    };  // downwards
    const int first = half(parts.anchors.front().beat);
    const int last = half(parts.anchors.back().beat);
    parts.anchors.clear();
    for (int b = first; b <= last; ++b)
        parts.anchors.push_back({b, map.time_of(Beats(2.0 * b))});
    parts.beat_before = parts.beat_before * 2.0;
    parts.beat_after = parts.beat_after * 2.0;
    parts.pickup /= 2;
    parts.free_bars.clear();
    return BarMap::make(std::move(parts));
}

Result<BarMap> set_bar_metre(const BarMap& map, int bar, Metre metre) {
    if (auto bad = not_a_counted_bar(bar)) return *bad;
    Parts parts = map.parts();
    const Metre next = map.metre_at(bar + 1);
    std::erase_if(parts.metres,
                  [bar](const BarMap::MetreFrom& m) { return m.bar == bar || m.bar == bar + 1; });
    parts.metres.push_back({bar, metre});
    parts.metres.push_back({bar + 1, next});
    std::sort(parts.metres.begin(), parts.metres.end(),
              [](const BarMap::MetreFrom& a, const BarMap::MetreFrom& b) { return a.bar < b.bar; });
    // Neighbours of one metre are one entry.
    const auto same = [](const BarMap::MetreFrom& a, const BarMap::MetreFrom& b) {
        return a.metre == b.metre;
    };
    parts.metres.erase(std::unique(parts.metres.begin(), parts.metres.end(), same),
                       parts.metres.end());
    if (parts.pickup >= parts.metres.front().metre.beats_per_bar()) parts.pickup = 0;
    return BarMap::make(std::move(parts));
}

Result<BarMap> drop_bar(const BarMap& map, int bar) {
    if (auto bad = not_a_counted_bar(bar)) return *bad;
    if (map.metre_at(bar) != map.metre_at(bar + 1)) {
        return refused("Bars " + std::to_string(bar) + " and " + std::to_string(bar + 1) +
                       " have different metres: bring them to one first");
    }
    const int from = whole_beat(map.beats_of({bar, Beats(0.0)}));
    const int to = whole_beat(map.beats_of({bar + 2, Beats(0.0)}));
    Parts parts = map.parts();
    pin(parts, map, from);
    pin(parts, map, to);
    drop_anchors_inside(parts, from, to);
    for (BarMap::Anchor& a : parts.anchors) {
        if (a.beat >= to) a.beat -= (to - from) / 2;
    }
    renumber(parts, bar + 1, -1);
    return BarMap::make(std::move(parts));
}

Result<BarMap> insert_bar(const BarMap& map, int bar) {
    if (auto bad = not_a_counted_bar(bar)) return *bad;
    const int from = whole_beat(map.beats_of({bar, Beats(0.0)}));
    const int to = whole_beat(map.beats_of({bar + 1, Beats(0.0)}));
    Parts parts = map.parts();
    pin(parts, map, from);
    pin(parts, map, to);
    for (BarMap::Anchor& a : parts.anchors) {
        if (a.beat >= to) {
            a.beat += to - from;
        } else if (a.beat > from) {
            a.beat = from + 2 * (a.beat - from);
        }
    }
    renumber(parts, bar + 1, 1);
    return BarMap::make(std::move(parts));
}

Result<BarMap> set_free(const BarMap& map, Range<int> bars, bool free) {
    if (bars.empty()) return refused("A stretch without a pulse has at least one bar");
    Parts parts = map.parts();
    // What is left of the old stretches outside these bars.
    std::vector<Range<int>> rest;
    for (const Range<int>& r : parts.free_bars) {
        for (const Range<int>& part : {Range<int>{r.from, std::min(r.to, bars.from)},
                                       Range<int>{std::max(r.from, bars.to), r.to}}) {
            if (!part.empty()) rest.push_back(part);
        }
    }
    parts.free_bars = std::move(rest);
    if (free) {
        const int from = whole_beat(map.beats_of({bars.from, Beats(0.0)}));
        const int to = whole_beat(map.beats_of({bars.to, Beats(0.0)}));
        pin(parts, map, from);
        pin(parts, map, to);
        drop_anchors_inside(parts, from, to);
        parts.free_bars.push_back(bars);
    }
    std::sort(parts.free_bars.begin(), parts.free_bars.end(),
              [](const Range<int>& a, const Range<int>& b) { return a.from < b.from; });
    return BarMap::make(std::move(parts));
}

}  // namespace bentline
