// Evaluates the moves and the vibrato of a stroke.
#include "tests/corpus/contour.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace bentline::corpus {

namespace {

double travelled(Shape shape, double x) {
    switch (shape) {
        case Shape::even:
            return x;
        case Shape::cosine:
            return 0.5 * (1.0 - std::cos(std::numbers::pi * x));
        case Shape::push:
            return (1.0 - std::exp(-3.0 * x)) / (1.0 - std::exp(-3.0));
    }
    return x;
}

Cents swing(const Shake& s, Seconds t) {
    if (!s.span.contains(t)) return Cents(0);
    const double since = (t - s.span.from).value();
    const double fade = s.fade_in > Seconds(0) ? std::min(1.0, since / s.fade_in.value()) : 1.0;
    const double turn = 2.0 * std::numbers::pi * s.rate.value() * since;
    return s.depth * (fade * (s.one_sided ? 1.0 - std::cos(turn) : std::sin(turn)));
}

}  // namespace

Pitch Contour::plain_at(Seconds t) const {
    Cents where(0);
    for (const Move& m : moves) {
        if (t < m.span.from) break;
        if (t >= m.span.to) {
            where = m.target;
            continue;
        }
        const double x = (t - m.span.from) / (m.span.to - m.span.from);
        where += (m.target - where) * travelled(m.shape, x);
    }
    return base + where;
}

Pitch Contour::at(Seconds t) const {
    Pitch p = plain_at(t);
    for (const Shake& s : shakes)
        p = p + swing(s, t);
    return p;
}

Seconds Contour::add_frets(Seconds from, Cents target, Seconds per_fret, Seconds glide) {
    const Cents start = last_target();
    const double whole = (target - start).value() / 100.0;
    const int frets = static_cast<int>(std::lround(std::abs(whole)));
    const Cents one((whole < 0 ? -100.0 : 100.0));
    Seconds t = from;
    for (int i = 1; i <= frets; ++i) {
        // The last step lands on the target itself, whose intonation is its own.
        const Cents to = i == frets ? target : start + one * static_cast<double>(i);
        t += per_fret;
        moves.push_back({{t - glide, t}, to, Shape::even});
    }
    return t;
}

}  // namespace bentline::corpus
