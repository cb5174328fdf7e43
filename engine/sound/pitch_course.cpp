// From a note's inflections to its pitch.
#include "engine/sound/pitch_course.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace bentline {
namespace {

// What is filled in where it was not measured (common practice, no source).
constexpr Seconds usual_slide_step{0.03};  // a semitone of a slide
constexpr double most_of_slide = 0.4;      // of the note's length, for a slide so filled in
constexpr int usual_slide_in = -2;         // semitones, from nowhere
constexpr int usual_slide_out = -4;        // to nowhere
constexpr Seconds usual_bend_rise{0.12};
constexpr double usual_release = 0.3;       // of the note's length, at its end
constexpr Seconds usual_vibrato_wait{0.1};  // of plain note before a vibrato
constexpr Seconds usual_trill_half{0.07};   // one note of a trill: about seven pairs a second

double eased(double share) {
    return 0.5 - 0.5 * std::cos(std::numbers::pi * std::clamp(share, 0.0, 1.0));
}

double eased(Seconds t, const SecondsRange& over) {
    if (t <= over.from) return 0.0;
    return t >= over.to ? 1.0 : eased((t - over.from) / (over.to - over.from));
}

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
    if (const auto* v = find<Vibrato>(note)) {
        const Seconds wait = std::min(usual_vibrato_wait, (note.offset - note.onset) * 0.25);
        shake_ = {v->depth.value(), v->rate.value(),
                  v->span.value_or(SecondsRange{note.onset + wait, note.offset})};
    }
    if (const auto* t = find<Trill>(note)) trill_ = t->semitones;
}

void PitchCourse::add_slides(const Note& note, std::optional<MidiKey> next) {
    const Seconds length = note.offset - note.onset;
    const auto usual = [&](int steps) {
        return std::min(usual_slide_step * std::abs(steps), length * most_of_slide);
    };
    if (const auto* s = find<SlideIn>(note)) {
        const int from = s->from ? s->from->value() - note.key.value() : usual_slide_in;
        Seconds to = note.onset + usual(from);
        if (s->span && !s->span->empty())
            to = std::clamp(s->span->to, note.onset + Seconds(0.001), note.offset);
        in_ = {true, {note.onset, to}, from, 0, false};
    }
    const auto away = [&](const std::optional<SecondsRange>& span, int to, bool sounds_last) {
        Seconds from = note.offset - usual(to);
        if (span && !span->empty() && span->from < note.offset)
            from = std::max(span->from, note.onset);
        out_ = {true, {from, note.offset}, 0, to, sounds_last};
    };
    if (const auto* s = find<SlideOut>(note)) {
        to_nowhere_ = !s->to;
        away(s->span, s->to ? s->to->value() - note.key.value() : usual_slide_out, true);
    }
    if (const auto* s = find<SlideToNext>(note); s && next)
        away(s->span, next->value() - note.key.value(), false);
}

void PitchCourse::add_bend(const Note& note, const Bend& bend) {
    const Seconds length = note.offset - note.onset;
    bend_.there = true;
    bend_.size = bend.size.value();
    bend_.prebent = bend.prebend;
    const Seconds start = std::clamp(bend.start.value_or(note.onset), note.onset, note.offset);
    bend_.rise = {start,
                  std::clamp(bend.peak.value_or(start + std::min(usual_bend_rise, length * 0.5)),
                             start, note.offset)};
    bend_.released = bend.release;
    bend_.fall =
        bend.release_span.value_or(SecondsRange{note.offset - length * usual_release, note.offset});
    bend_.fall.from = std::max(bend_.fall.from, bend_.prebent ? note.onset : bend_.rise.to);
    bend_.fall.to = std::max(bend_.fall.to, bend_.fall.from);
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
