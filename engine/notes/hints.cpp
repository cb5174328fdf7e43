// Hints in the tracker's terms, and inked notes among found ones.
#include "engine/notes/hints.h"

#include <algorithm>
#include <cmath>

namespace bentline {

namespace {

// An onset is known to about this much, an end to this.
constexpr Seconds onset_slack{0.008};
constexpr Seconds end_slack{0.015};
// A plain note lies within this of where it is written, fretting and settling included; without the
// recording's tuning, anywhere up to the next key.
constexpr Cents plain_reach{70.0};
constexpr Cents untuned_reach{95.0};
// How long a note that was pointed at sounds for certain.
constexpr Seconds here_length{0.06};
// The shortest rest of a cut note that is still one.
constexpr Seconds shortest_rest{0.024};
// A found onset may lie this early.
constexpr Seconds onset_error{0.04};

struct Reach {
    Cents below{0.0};
    Cents above{0.0};
    void take(Cents to) {
        below = std::min(below, to);
        above = std::max(above, to);
    }
};

// How far a note's inflections lead its pitch away, and until when its slide in lasts.
Reach reach_of(const Note& note) {
    Reach r;
    if (const auto* s = find<SlideOut>(note))
        r.take(s->to ? Pitch(*s->to) - Pitch(note.key) : Cents(-900.0));
    if (const auto* b = find<Bend>(note)) r.take(b->size);
    if (const auto* v = find<Vibrato>(note)) r.take(r.above + v->depth);
    if (const auto* v = find<Vibrato>(note)) r.take(r.below - v->depth);
    if (const auto* t = find<Trill>(note)) r.take(Cents(100.0 * t->semitones));
    if (find<SlideToNext>(note)) r.take(Cents(900.0)), r.take(Cents(-900.0));
    return r;
}

void add_inked(PathHints& out, const Note& note, Cents margin, Cents tuning) {
    const Pitch home = Pitch(note.key) + tuning;
    const Reach reach = reach_of(note);
    Seconds from = note.onset + onset_slack;
    const Seconds to = note.offset - end_slack;
    const auto add = [&](Seconds a, Seconds b, Reach r) {
        if (a < b)
            out.sounding.push_back({{a, b}, home + r.below - margin, home + r.above + margin});
    };
    if (const auto* s = find<SlideIn>(note)) {
        Reach sliding = reach;
        sliding.take(s->from ? Pitch(*s->from) - Pitch(note.key) : Cents(-900.0));
        const Seconds arrives =
            s->span ? std::clamp(s->span->to + end_slack, from, std::max(from, to)) : to;
        add(from, arrives, sliding);
        from = arrives;
    }
    add(from, to, reach);
}

bool overlap(SecondsRange a, SecondsRange b) {
    return a.from < b.to && b.from < a.to;
}

}  // namespace

PathHints path_hints(const Hints& hints) {
    PathHints out;
    out.tuning = hints.tuning;
    const Cents tuning = hints.tuning.value_or(Cents(0.0));
    const Cents margin = hints.tuning ? plain_reach : untuned_reach;
    for (const NotThis& n : hints.not_these) {
        const Pitch p = Pitch(n.key) + tuning;
        out.others.push_back({n.span, p - margin, p + margin});
    }
    for (const NoteHere& h : hints.here) {
        const Pitch lowest = h.key ? Pitch(*h.key) + tuning - margin : Pitch(0.0);
        const Pitch highest = h.key ? Pitch(*h.key) + tuning + margin : Pitch(127.0);
        // The attack itself has no pitch yet.
        const Seconds from = h.at + Seconds(0.01);
        out.sounding.push_back({{from, from + here_length}, lowest, highest, false});
    }
    for (const Note& n : hints.inked)
        add_inked(out, n, margin, tuning);
    return out;
}

bool ruled_out(const Hints& hints, SecondsRange span, MidiKey key) {
    return std::any_of(hints.not_these.begin(), hints.not_these.end(), [&](const NotThis& n) {
        if (n.key != key || !overlap(n.span, span)) return false;
        const Seconds both = std::min(n.span.to, span.to) - std::max(n.span.from, span.from);
        return both > (span.to - span.from) * 0.5 || n.span.contains(span.from);
    });
}

std::vector<Note> among_inked(const std::vector<Note>& found, const std::vector<Note>& inked) {
    if (inked.empty()) return found;
    std::vector<Note> all = inked;
    for (const Note& n : found) {
        const auto after = std::upper_bound(inked.begin(), inked.end(), n.onset,
                                            [](Seconds t, const Note& i) { return t < i.onset; });
        Note note = n;
        if (after != inked.begin() && (after - 1)->offset > n.onset) {
            // It comes in as the inked one ends, heard a little early; or it lies in the inked one.
            const Seconds ends = (after - 1)->offset;
            if (ends - n.onset > onset_error || n.offset - ends < shortest_rest) continue;
            note.onset = ends;
        }
        if (after != inked.end()) {
            // The same attack, heard a little early.
            if (after->onset - n.onset < shortest_rest) continue;
            note.offset = std::min(note.offset, after->onset);
        }
        all.push_back(std::move(note));
    }
    std::stable_sort(all.begin(), all.end(),
                     [](const Note& a, const Note& b) { return a.onset < b.onset; });
    return all;
}

}  // namespace bentline
