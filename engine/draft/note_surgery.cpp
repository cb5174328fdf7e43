// Cutting, moving and joining single notes together with their inflections.
#include "engine/draft/note_surgery.h"

#include <algorithm>
#include <optional>
#include <type_traits>

namespace bentline {
namespace {

template <class... F>
struct Each : F... {
    using F::operator()...;
};
template <class... F>
Each(F...) -> Each<F...>;

void shift(std::optional<SecondsRange>& span, Seconds by) {
    if (span) span = SecondsRange{span->from + by, span->to + by};
}
void shift(std::optional<Seconds>& time, Seconds by) {
    if (time) time = *time + by;
}

void shift(InflectionKind& what, Seconds by) {
    std::visit(
        [by](auto& k) {
            using K = std::decay_t<decltype(k)>;
            if constexpr (std::is_same_v<K, Bend>) {
                shift(k.start, by);
                shift(k.peak, by);
                shift(k.release_span, by);
            } else if constexpr (requires { k.span; }) {
                shift(k.span, by);
            }
        },
        what);
}

// The part of a span inside [from, to); nothing where they do not meet.
std::optional<SecondsRange> cut(SecondsRange span, SecondsRange within) {
    const SecondsRange part{std::max(span.from, within.from), std::min(span.to, within.to)};
    if (part.empty()) return std::nullopt;
    return part;
}

// True where the bend still lies in the note; its times are cut to it.
bool fit(Bend& bend, SecondsRange note) {
    if (bend.start && *bend.start >= note.to) return false;
    if (bend.release_span && bend.release_span->to <= note.from) return false;
    if (bend.start) bend.start = std::max(*bend.start, note.from);
    if (bend.peak) bend.peak = std::clamp(*bend.peak, note.from, note.to);
    if (bend.release_span) {
        bend.release_span = cut(*bend.release_span, note);
        if (!bend.release_span) bend.release = false;
    }
    return true;
}

// True where the inflection still has a place in the note; it is cut to it.
bool fit(InflectionKind& what, SecondsRange note) {
    return std::visit(Each{
                          [note](Bend& bend) { return fit(bend, note); },
                          [note](Vibrato& v) {
                              if (!v.span) return true;
                              v.span = cut(*v.span, note);
                              return v.span.has_value();
                          },
                          // A slide in begins the note: what is left of it stays.
                          [note](SlideIn& s) {
                              if (s.span)
                                  s.span->to = std::clamp(s.span->to, s.span->from, note.to);
                              return true;
                          },
                          [](auto&) { return true; },
                      },
                      what);
}

// Slides at the end of a note stay at its end.
void keep_at_end(InflectionKind& what, Seconds old_end, Seconds new_end, Seconds onset) {
    const auto follow = [&](std::optional<SecondsRange>& span) {
        if (!span) return;
        shift(span, new_end - old_end);
        span->from = std::max(span->from, onset);
    };
    if (auto* out = std::get_if<SlideOut>(&what)) follow(out->span);
    if (auto* next = std::get_if<SlideToNext>(&what)) follow(next->span);
}

bool is_one_of_the_end(const InflectionKind& what) {
    return std::holds_alternative<SlideOut>(what) || std::holds_alternative<SlideToNext>(what) ||
           std::holds_alternative<Staccato>(what);
}

// Where an inflection begins, if that was measured.
std::optional<Seconds> begin_of(const InflectionKind& what) {
    return std::visit(
        Each{
            [](const Bend& b) { return b.start; },
            [](const Vibrato& v) { return v.span ? std::optional(v.span->from) : std::nullopt; },
            [](const auto&) { return std::optional<Seconds>(); },
        },
        what);
}

}  // namespace

Note shifted(Note note, Seconds by) {
    note.onset += by;
    note.offset += by;
    for (Inflection& i : note.inflections)
        shift(i.what, by);
    return note;
}

Note fitted(Note note, SecondsRange span) {
    for (Inflection& i : note.inflections) {
        if (std::holds_alternative<SlideIn>(i.what)) shift(i.what, span.from - note.onset);
        keep_at_end(i.what, note.offset, span.to, span.from);
    }
    note.onset = span.from;
    note.offset = span.to;
    std::erase_if(note.inflections, [span](Inflection& i) { return !fit(i.what, span); });
    return note;
}

std::pair<Note, Note> parted(const Note& note, Seconds at) {
    Note first = note;
    Note second = note;
    std::erase_if(first.inflections, [at](const Inflection& i) {
        const auto begin = begin_of(i.what);
        return is_one_of_the_end(i.what) || (begin && *begin >= at);
    });
    std::erase_if(second.inflections, [at](const Inflection& i) {
        if (is_one_of_the_end(i.what) || std::holds_alternative<Trill>(i.what)) return false;
        if (const auto* v = std::get_if<Vibrato>(&i.what)) return v->span && v->span->to <= at;
        const auto begin = begin_of(i.what);
        return !begin || *begin < at;
    });
    first = fitted(std::move(first), {note.onset, at});
    second = fitted(std::move(second), {at, note.offset});
    second.reason.clear();
    second.confidence.reset();
    first.alternatives.clear();
    second.alternatives.clear();
    return {std::move(first), std::move(second)};
}

Note joined(const Note& first, const Note& second) {
    Note one = first;
    one.offset = second.offset;
    // What ended the first note, or began the second, is inside the joined one and no more.
    std::erase_if(one.inflections, [](const Inflection& i) { return is_one_of_the_end(i.what); });
    for (const Inflection& i : second.inflections) {
        if (std::holds_alternative<SlideIn>(i.what) || std::holds_alternative<Accent>(i.what))
            continue;
        const bool there = std::any_of(
            one.inflections.begin(), one.inflections.end(),
            [&](const Inflection& have) { return have.what.index() == i.what.index(); });
        if (!there) {
            one.inflections.push_back(i);
        } else if (const auto* late = std::get_if<Vibrato>(&i.what); late && late->span) {
            // A vibrato through the cut is one vibrato.
            for (Inflection& have : one.inflections) {
                auto* v = std::get_if<Vibrato>(&have.what);
                if (v && v->span) v->span->to = late->span->to;
            }
        }
    }
    if (first.level && second.level) one.level = std::max(*first.level, *second.level);
    one.alternatives.clear();
    if (first.key != second.key) {
        one.cents.reset();
        one.cents_error.reset();
    }
    return one;
}

Note retuned(Note note, int semitones) {
    const auto up = [semitones](MidiKey k) { return MidiKey(k.value() + semitones); };
    note.key = up(note.key);
    note.cents.reset();
    note.cents_error.reset();
    note.alternatives.clear();
    for (Inflection& i : note.inflections) {
        if (auto* in = std::get_if<SlideIn>(&i.what); in && in->from) in->from = up(*in->from);
        if (auto* out = std::get_if<SlideOut>(&i.what); out && out->to) out->to = up(*out->to);
    }
    return note;
}

Note with_alternative(Note note, std::size_t which) {
    Alternative& chosen = note.alternatives[which];
    Alternative before;
    before.key = note.key;
    before.inflections = note.inflections;
    before.probability = note.confidence.value_or(0.5);
    before.reason = "as it was";
    if (*chosen.key != note.key) {
        note.cents.reset();
        note.cents_error.reset();
    }
    note.key = *chosen.key;
    note.inflections = chosen.inflections;
    note.confidence = chosen.probability;
    note.reason = chosen.reason;
    chosen = std::move(before);
    return note;
}

}  // namespace bentline
