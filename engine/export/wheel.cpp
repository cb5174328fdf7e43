// The course of a note's pitch from its inflections.
#include "engine/export/wheel.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "engine/notes/gesture_spans.h"

namespace bentline {
namespace {

// Points are this far apart where the pitch moves continuously: that of the measured pitch line.
constexpr Seconds point_step{0.005};
// A new point only where the pitch has moved this far: a tenth of what a trained ear tells apart.
constexpr double least_move = 0.25;  // cents

// Steps in equal times through the semitones from `from` to `to`, both distances from the key. The
// last is reached at the end of the span or, where the slide ends the sound, sounds as long as the
// others.
struct Steps {
    SecondsRange span;
    int from;
    int to;
    bool sounds_last;
    int count() const { return std::abs(to - from); }
    Seconds time_of(int k) const {
        return span.from +
               (span.to - span.from) * (static_cast<double>(k) / (count() + (sounds_last ? 1 : 0)));
    }
    double at(Seconds t) const {
        int done = 0;
        while (done < count() && time_of(done + 1) <= t)
            ++done;
        return 100.0 * (from + (to > from ? done : -done));
    }
};

// A bend's distance at a time.
class BendCourse {
  public:
    BendCourse(const Note& n, const Bend& b)
        : size_(b.size.value()), prebent_(b.prebend), spans_(bend_spans(n, b)) {}
    double at(Seconds t) const {
        double share = prebent_ ? 1.0 : eased(t, spans_.rise);
        if (spans_.fall) share *= 1.0 - eased(t, *spans_.fall);
        return size_ * share;
    }

  private:
    double size_;
    bool prebent_;
    BendSpans spans_;
};

double vibrato_at(const Note& n, const Vibrato& v, Seconds t) {
    const SecondsRange span = vibrato_span(n, v);
    if (!span.contains(t)) return 0.0;
    return v.depth.value() *
           std::sin(2.0 * std::numbers::pi * v.rate.value() * (t - span.from).value());
}

double trill_at(const Note& n, const Trill& trill, Seconds t) {
    const auto halves =
        static_cast<std::int64_t>(std::floor((t - n.onset) / usual_trill_half + 1e-9));
    return halves % 2 == 0 ? 0.0 : 100.0 * trill.semitones;
}

// All of a note's inflections that move its pitch, summed where they are.
class Course {
  public:
    Course(const Note& n, std::optional<MidiKey> next) : note_(n) {
        if (const auto* s = find<SlideIn>(n); s && s->from) {
            const int steps = s->from->value() - n.key.value();
            in_ = Steps{slide_in_span(n, *s, steps), steps, 0, false};
        }
        if (const auto* s = find<SlideOut>(n); s && s->to) {
            const int steps = s->to->value() - n.key.value();
            out_ = Steps{slide_away_span(n, s->span, steps), 0, steps, true};
        }
        if (const auto* s = find<SlideToNext>(n); s && next) {
            const int steps = next->value() - n.key.value();
            out_ = Steps{slide_away_span(n, s->span, steps), 0, steps, false};
        }
        if (const auto* b = find<Bend>(n)) bend_.emplace(n, *b);
    }

    bool moves() const {
        return in_ || out_ || bend_ || find<Vibrato>(note_) || find<Trill>(note_);
    }

    Cents at(Seconds t) const {
        double cents = bend_ ? bend_->at(t) : 0.0;
        if (in_) cents += in_->at(t);
        if (out_) cents += out_->at(t);
        if (const auto* v = find<Vibrato>(note_)) cents += vibrato_at(note_, *v, t);
        if (const auto* trill = find<Trill>(note_)) cents += trill_at(note_, *trill, t);
        return Cents(cents);
    }

    // Times at which the pitch jumps, so that no jump is late by a point's distance.
    std::vector<Seconds> jumps() const {
        std::vector<Seconds> times;
        for (const auto& steps : {in_, out_}) {
            if (!steps) continue;
            for (int k = 1; k <= steps->count(); ++k)
                times.push_back(steps->time_of(k));
        }
        if (find<Trill>(note_)) {
            for (Seconds t = note_.onset; t < note_.offset; t += usual_trill_half)
                times.push_back(t);
        }
        if (const auto* v = find<Vibrato>(note_); v && v->span) times.push_back(v->span->to);
        return times;
    }

  private:
    const Note& note_;
    std::optional<Steps> in_;
    std::optional<Steps> out_;
    std::optional<BendCourse> bend_;
};

}  // namespace

std::vector<WheelPoint> wheel_course(const Note& note, std::optional<MidiKey> next) {
    const Course course(note, next);
    if (!course.moves()) return {};
    std::vector<Seconds> times = course.jumps();
    const auto count = static_cast<int>(std::ceil((note.offset - note.onset) / point_step));
    for (int i = 0; i < count; ++i)
        times.push_back(note.onset + point_step * i);
    std::erase_if(times, [&](Seconds t) { return t < note.onset || t >= note.offset; });
    std::sort(times.begin(), times.end());

    std::vector<WheelPoint> points;
    for (const Seconds t : times) {
        const Cents away = course.at(t);
        const double last = points.empty() ? 0.0 : points.back().away.value();
        if (std::abs(away.value() - last) >= least_move) points.push_back({t, away});
    }
    return points;
}

Cents reach(const std::vector<WheelPoint>& course) {
    Cents most{0.0};
    for (const WheelPoint& p : course)
        most = std::max({most, p.away, -p.away});
    return most;
}

int wheel_range(Cents reach) {
    for (const int semitones : {2, 12}) {
        if (reach <= Cents(100.0 * semitones)) return semitones;
    }
    return 24;
}

int wheel_position(Cents away, int range) {
    const auto turned = std::lround(away.value() / (100.0 * range) * 8192.0);
    return static_cast<int>(std::clamp(8192L + turned, 0L, 16383L));
}

}  // namespace bentline
