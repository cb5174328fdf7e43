// From a note's inflections to its pitch.
#include "engine/sound/pitch_course.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "engine/notes/gesture_spans.h"

namespace bentline {
namespace {

// Of slides from and to nowhere, in semitones (common practice, no source).
constexpr int usual_slide_in = -2;
constexpr int usual_slide_out = -4;

// 0 before a step at `moment`, 1 after it, over `ramp` between.
double stepped(Seconds t, Seconds moment, Seconds ramp) {
    return eased((t - moment) / ramp + 0.5);
}

}  // namespace

PitchCourse::PitchCourse(const Note& note, std::optional<MidiKey> next, SlideManner manner)
    : base_(Pitch(note.key) + note.cents.value_or(Cents(0))),
      manner_(manner),
      sounds_{note.onset, note.offset} {
    add_slides(note, next);
    if (const auto* b = find<Bend>(note)) add_bend(note, *b);
    if (const auto* v = find<Vibrato>(note))
        shake_ = {v->depth.value(), v->rate.value(), vibrato_span(note, *v)};
    if (const auto* t = find<Trill>(note)) trill_ = t->semitones;
}

void PitchCourse::add_slides(const Note& note, std::optional<MidiKey> next) {
    if (const auto* s = find<SlideIn>(note)) {
        const int from = s->from ? s->from->value() - note.key.value() : usual_slide_in;
        in_ = {true, slide_in_span(note, *s, from), from, 0, false};
    }
    if (const auto* s = find<SlideOut>(note)) {
        to_nowhere_ = !s->to;
        const int to = s->to ? s->to->value() - note.key.value() : usual_slide_out;
        out_ = {true, slide_away_span(note, s->span, to), 0, to, true};
    }
    if (const auto* s = find<SlideToNext>(note); s && next) {
        const int to = next->value() - note.key.value();
        out_ = {true, slide_away_span(note, s->span, to), 0, to, false};
    }
}

void PitchCourse::add_bend(const Note& note, const Bend& bend) {
    const BendSpans spans = bend_spans(note, bend);
    bend_ = {true,       bend.size.value(), bend.prebend,
             spans.rise, bend.release,      spans.fall.value_or(SecondsRange{})};
}

double PitchCourse::run_at(const Run& run, Seconds t, Seconds ramp) const {
    if (manner_ == SlideManner::gliding)
        return 100.0 * (run.from + (run.to - run.from) * eased(t, run.span));
    const int count = std::abs(run.to - run.from);
    const Seconds each = (run.span.to - run.span.from) / (count + (run.sounds_last ? 1 : 0));
    double done = 0.0;
    for (int k = 1; k <= count; ++k)
        done += stepped(t, run.span.from + each * k, std::min(ramp, each));
    return 100.0 * (run.from + (run.to > run.from ? done : -done));
}

Pitch PitchCourse::at(Seconds t, Seconds ramp) const {
    double cents = 0.0;
    if (in_.there) cents += run_at(in_, t, ramp);
    if (out_.there) cents += run_at(out_, t, ramp);
    if (bend_.there) {
        double share = bend_.prebent ? 1.0 : eased(t, bend_.rise);
        if (bend_.released) share *= 1.0 - eased(t, bend_.fall);
        cents += bend_.size * share;
    }
    if (shake_.depth != 0.0 && shake_.span.contains(t)) {
        const double phase = shake_.rate * (t - shake_.span.from).value();
        const double rest = shake_.rate * (shake_.span.to - t).value();
        cents += shake_.depth * std::sin(2.0 * std::numbers::pi * phase) * eased(4.0 * phase) *
                 eased(4.0 * rest);
    }
    if (trill_ != 0 && t > sounds_.from) {
        const double halves = (t - sounds_.from) / usual_trill_half;
        const double nearest = std::nearbyint(halves);  // the turn that is closest
        const double passed = nearest < 0.5 ? 1.0
                                            : stepped(t, sounds_.from + usual_trill_half * nearest,
                                                      std::min(ramp, usual_trill_half));
        const bool up_after = static_cast<int>(nearest) % 2 != 0;
        cents += 100.0 * trill_ * (up_after ? passed : 1.0 - passed);
    }
    return base_ + Cents(cents);
}

std::optional<SecondsRange> PitchCourse::dying() const {
    if (!out_.there || !to_nowhere_) return std::nullopt;
    return out_.span;
}

}  // namespace bentline
