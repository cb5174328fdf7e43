// Hints turned into evidence.
#include "engine/pitch/path_hints.h"

#include <algorithm>
#include <cmath>

namespace bentline {

namespace {

constexpr float certain_silence = 1e-6F;  // what silence still counts where the lead is known
constexpr float likely_factor = 0.05F;    // what the alternatives of a strong opinion count
constexpr float other_factor = 1e-3F;     // what somebody else's pitch counts as the lead

// Moments [from, to) of a span.
Range<std::size_t> moments_of(SecondsRange span, Seconds start, Seconds hop, std::size_t count) {
    const auto index = [&](Seconds t) {
        const double at = std::ceil((t - start) / hop - 1e-9);
        return static_cast<std::size_t>(std::clamp(at, 0.0, static_cast<double>(count)));
    };
    return {index(span.from), std::max(index(span.from), index(span.to))};
}

struct Bins {
    std::size_t first = 0;
    std::size_t end = 0;
    bool has(std::size_t b) const { return b >= first && b < end; }
};

Bins bins_of(const PitchGrid& grid, Pitch lowest, Pitch highest) {
    const auto last = static_cast<double>(grid.bins);
    const double lo = std::clamp(std::floor((lowest - grid.lowest) / grid.step), 0.0, last);
    const double hi = std::clamp(std::ceil((highest - grid.lowest) / grid.step) + 1.0, lo, last);
    return {static_cast<std::size_t>(lo), static_cast<std::size_t>(hi)};
}

void hold_to(FrameEvidence& e, Bins bins) {
    if (bins.first >= bins.end) return;  // outside the register: nothing can be held
    e.first_bin = bins.first;
    e.end_bin = bins.end;
    e.silent *= certain_silence;
}

void favour(FrameEvidence& e, Bins bins) {
    for (FrameEvidence::At& at : e.heard) {
        if (!bins.has(at.bin)) at.likelihood *= likely_factor;
    }
    e.silent *= likely_factor;
}

}  // namespace

std::vector<std::optional<Range<Pitch>>> certain_pitches(const PathHints& hints, Seconds start,
                                                         Seconds hop, std::size_t count) {
    std::vector<std::optional<Range<Pitch>>> known(count);
    for (const PathHints::Sounding& s : hints.sounding) {
        if (!s.certain) continue;
        const auto [from, to] = moments_of(s.span, start, hop, count);
        for (std::size_t i = from; i < to; ++i)
            known[i] = Range<Pitch>{s.lowest, s.highest};
    }
    return known;
}

std::vector<FrameEvidence> heeding(std::vector<FrameEvidence> evidence, const PathHints& hints,
                                   const PitchGrid& grid, Seconds start, Seconds hop) {
    for (const PathHints::Other& o : hints.others) {
        const Bins bins = bins_of(grid, o.lowest, o.highest);
        const auto [from, to] = moments_of(o.span, start, hop, evidence.size());
        for (std::size_t i = from; i < to; ++i) {
            for (FrameEvidence::At& at : evidence[i].heard) {
                if (bins.has(at.bin)) at.likelihood *= other_factor;
            }
        }
    }
    for (const PathHints::Sounding& s : hints.sounding) {
        const Bins bins = bins_of(grid, s.lowest, s.highest);
        const auto [from, to] = moments_of(s.span, start, hop, evidence.size());
        for (std::size_t i = from; i < to; ++i) {
            if (s.certain)
                hold_to(evidence[i], bins);
            else
                favour(evidence[i], bins);
        }
    }
    return evidence;
}

}  // namespace bentline
