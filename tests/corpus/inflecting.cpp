// The ranges of size and speed here are common practice of guitar playing (no source), but for
// vibrato: 4 to 7.5 Hz brackets the singers' and strings' norms (Prame 1994; Timmers & Desain
// 2000).
#include "tests/corpus/inflecting.h"

#include <algorithm>
#include <cmath>

namespace bentline::corpus {

Seconds Inflecting::apply(Choice choice) {
    switch (choice) {
        case Choice::vibrato:
            vibrato(from_);
            break;
        case Choice::bend:
            bend();
            break;
        case Choice::prebend:
            prebend();
            break;
        case Choice::trill:
            trill();
            break;
        case Choice::slide_in:
            slide_in(1, 4);
            break;
        case Choice::long_slide_in:
            slide_in(5, 9);
            break;
        case Choice::slide_out:
            slide_out();
            break;
        case Choice::accent:
            accent();
            break;
        case Choice::staccato: {
            const double part = length().value() * dice_.between(0.25, 0.45);
            to_ = from_ + Seconds(std::clamp(part, 0.045, 0.15));
            plain_.to = to_;
            add(Staccato{});
            break;
        }
        default:
            break;
    }
    // A struck note may be leaned on as well.
    if (!joined_ && choice != Choice::accent && choice != Choice::plain && dice_.chance(0.08))
        accent();
    return to_;
}

// From `from` at the earliest, to the note's end.
void Inflecting::vibrato(Seconds from) {
    const double room = (to_ - from).value();
    const Hertz rate(dice_.between(4.0, 7.5));
    // At least two and a half full turns, or nobody could tell its rate.
    const double latest = room - 2.5 / rate.value();
    const double wait = std::min(dice_.between(0.04, 0.28), std::max(0.03, latest));
    if (room - wait < 2.2 / rate.value()) return;
    Shake s{{from + Seconds(wait), to_}, rate, Cents(dice_.between(15.0, 45.0)), Seconds(0), false};
    if (dice_.chance(0.2)) s.depth = Cents(dice_.between(45.0, 60.0));
    s.fade_in = Seconds(std::min(dice_.between(0.03, 0.2), 0.35 * (room - wait)));
    // A finger that only pushes one way: shallow, else the note would read a semitone up.
    if (dice_.chance(0.2)) {
        s.one_sided = true;
        s.depth = Cents(std::min(s.depth.value(), 22.0));
    }
    stroke_.contour.shakes.push_back(s);
    add(Vibrato{rate, s.depth, in_phrase(s.span.from, s.span.to)});
}

Cents Inflecting::bend_size() {
    const double what = dice_.unit();
    double size = 100.0;
    if (what < 0.2)
        size = 50.0;
    else if (what < 0.52)
        size = 100.0;
    else if (what < 0.84)
        size = 200.0;
    else if (what < 0.92)
        size = 300.0;
    else
        size = dice_.between(35.0, 250.0);
    return Cents(size + 5.0 * dice_.normal());
}

void Inflecting::bend() {
    const double d = length().value();
    const Cents size = bend_size();
    const Cents home = stroke_.contour.last_target();
    const Shape shape = dice_.chance(0.7) ? Shape::cosine : Shape::push;
    const double wait = std::min(dice_.between(0.035, 0.16), 0.3 * d);
    const double rise = std::min(dice_.between(0.07, 0.28), 0.42 * d);
    const Seconds start = from_ + Seconds(wait);
    const Seconds peak = start + Seconds(rise);
    stroke_.contour.moves.push_back({{start, peak}, home + size, shape});
    Bend truth{size, stroke_.pluck + start, stroke_.pluck + peak, false, false, {}};
    plain_ = {from_, start};
    const double left = (to_ - peak).value();
    if (left > 0.3 && dice_.chance(0.4)) {
        const double hold = dice_.between(0.05, 0.4) * left;
        const double fall = std::min(dice_.between(0.07, 0.25), 0.45 * left);
        const Seconds let_go = peak + Seconds(hold);
        stroke_.contour.moves.push_back({{let_go, let_go + Seconds(fall)}, home, Shape::cosine});
        truth.release = true;
        truth.release_span = in_phrase(let_go, let_go + Seconds(fall));
        add(truth);
    } else {
        add(truth);
        if (left > 0.55 && dice_.chance(0.35)) vibrato(peak);
    }
}

// Always let down again: a pre-bend that is held sounds like the higher note itself.
void Inflecting::prebend() {
    const double d = length().value();
    static constexpr double sizes[] = {50.0, 100.0, 100.0, 200.0, 200.0};
    const Cents size(dice_.pick(sizes) + 4.0 * dice_.normal());
    const Seconds let_go = from_ + Seconds(dice_.between(0.08, 0.35) * d);
    const Seconds home = let_go + Seconds(std::min(dice_.between(0.07, 0.28), 0.35 * d));
    const Cents fretted = stroke_.contour.last_target();
    // The contour begins up there; its base stays the fretted pitch.
    stroke_.contour.moves.push_back({{Seconds(-1e-6), Seconds(0)}, fretted + size, Shape::even});
    stroke_.contour.moves.push_back({{let_go, home}, fretted, Shape::cosine});
    plain_ = {home, to_};
    add(Bend{size, stroke_.pluck + from_, stroke_.pluck + from_, true, true,
             in_phrase(let_go, home)});
}

void Inflecting::trill() {
    static constexpr int steps[] = {1, 1, 2, 2, 2, -1, -2};
    const int step = dice_.pick(steps);
    const double wait = std::min(dice_.between(0.05, 0.14), 0.2 * length().value());
    // Four changes at least, or it would be a slur or two.
    const double each = std::min(dice_.between(0.055, 0.095), (length().value() - wait) / 4.7);
    const Cents home = stroke_.contour.last_target();
    Seconds t = from_ + Seconds(wait);
    bool away = true;
    while (t + Seconds(0.6 * each) < to_) {
        const Seconds glide(0.004);
        stroke_.contour.moves.push_back(
            {{t, t + glide}, away ? home + Cents(100.0 * step) : home, Shape::even});
        stroke_.nudges.push_back({t, Decibels(dice_.between(0.5, 2.0))});
        away = !away;
        t += Seconds(each * dice_.between(0.94, 1.06));
    }
    add(Trill{step});
}

void Inflecting::slide_in(int least, int most) {
    const double d = length().value();
    int frets = dice_.whole(least, most);
    const bool below = dice_.chance(0.75);
    const double room = 0.55 * d;
    double per_fret = frets > 4 ? dice_.between(0.016, 0.04) : dice_.between(0.025, 0.06);
    const double start = std::min(dice_.between(0.015, 0.06), 0.2 * d);
    while (frets > least && start + frets * per_fret > room)
        --frets;
    per_fret = std::min(per_fret, (room - start) / frets);
    const MidiKey from(note_.truth.key.value() + (below ? -frets : frets));
    const Cents fretting = stroke_.contour.base - Pitch(note_.truth.key);
    stroke_.contour.base = Pitch(from) + fretting;
    stroke_.key = from;
    const double glide = std::min(dice_.between(0.005, 0.015), 0.6 * per_fret);
    const Seconds arrival =
        stroke_.contour.add_frets(from_ + Seconds(start), Pitch(note_.truth.key) - Pitch(from),
                                  Seconds(per_fret), Seconds(glide));
    plain_.from = arrival;
    add(SlideIn{from, in_phrase(from_, arrival)});
    if ((to_ - arrival).value() > 0.5 && dice_.chance(0.3)) vibrato(arrival);
}

void Inflecting::slide_out() {
    const double d = length().value();
    const bool down = dice_.chance(0.75);
    int frets = dice_.whole(2, 6);
    const double per_fret = dice_.between(0.018, 0.045);
    while (frets > 2 && frets * per_fret > 0.45 * d)
        --frets;
    const Seconds start = to_ - Seconds(frets * per_fret);
    const Cents home = stroke_.contour.last_target();
    stroke_.contour.add_frets(start, home + Cents(down ? -100.0 * frets : 100.0 * frets),
                              Seconds(per_fret), Seconds(std::min(0.012, 0.5 * per_fret)));
    stroke_.fades.push_back({{start, to_}, Decibels(dice_.between(6.0, 14.0))});
    plain_.to = start;
    add(SlideOut{MidiKey(note_.truth.key.value() + (down ? -frets : frets)),
                 in_phrase(start, to_)});
}

void Inflecting::accent() {
    stroke_.level += Decibels(dice_.between(5.5, 8.5));
    stroke_.velocity = 108;
    add(Accent{});
}

void Inflecting::slide_on(Seconds arrival, Cents target) {
    const int frets = std::max(
        1, static_cast<int>(
               std::lround(std::abs((target - stroke_.contour.last_target()).value()) / 100.0)));
    const double per_fret =
        std::min(dice_.between(0.02, 0.05), 0.5 * (arrival - from_).value() / frets);
    const Seconds start = arrival - Seconds(frets * per_fret);
    stroke_.contour.add_frets(start, target, Seconds(per_fret),
                              Seconds(std::min(dice_.between(0.005, 0.015), 0.6 * per_fret)));
    plain_.to = start;
    to_ = arrival;
    add(SlideToNext{in_phrase(start, arrival)});
}

void Inflecting::slur_on(Seconds arrival, Cents target) {
    const Seconds glide(dice_.between(0.002, 0.006));
    stroke_.contour.moves.push_back({{arrival - glide, arrival}, target, Shape::even});
    stroke_.nudges.push_back({arrival, Decibels(dice_.between(0.5, 4.0))});
    to_ = arrival;
    plain_.to = arrival;
}

}  // namespace bentline::corpus
