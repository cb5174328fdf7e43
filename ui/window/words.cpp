// Figures and signs in words.
#include <array>
#include <cmath>
#include <cstdio>

#include "ui/window/page.h"
#include "ui/window/spelling.h"

namespace bentline::window {
namespace {

template <class... Values>
std::string printed(const char* form, Values... values) {
    std::array<char, 96> buffer{};
    const int n = std::snprintf(buffer.data(), buffer.size(), form, values...);
    return {buffer.data(), static_cast<std::size_t>(std::max(0, n))};
}

std::string words_of(const State& s, const Note& note, const SlideIn& slide) {
    return slide.from
               ? "slide in from " + spelled_with_octave(*slide.from, s.draft.key_at(note.onset))
               : "slide in";
}
std::string words_of(const State& s, const Note& note, const SlideOut& slide) {
    return slide.to ? "slide out to " + spelled_with_octave(*slide.to, s.draft.key_at(note.onset))
                    : "slide out";
}
std::string words_of(const State&, const Note&, const SlideToNext&) {
    return "slide to the next note";
}
std::string words_of(const State&, const Note&, const Bend& bend) {
    return std::string(bend.prebend ? "pre-bend " : "bend ") + bend_fraction(bend.size) +
           printed(", %.0f c", bend.size.value()) + (bend.release ? ", released" : "");
}
std::string words_of(const State&, const Note&, const Vibrato& v) {
    return printed("vibrato %.1f Hz, ±%.0f c", v.rate.value(), v.depth.value());
}
std::string words_of(const State& s, const Note& note, const Trill& trill) {
    return "trill with " + spelled_with_octave(MidiKey(note.key.value() + trill.semitones),
                                               s.draft.key_at(note.onset));
}
std::string words_of(const State&, const Note&, const Staccato&) {
    return "staccato";
}
std::string words_of(const State&, const Note&, const Accent&) {
    return "accent";
}

}  // namespace

std::string time_text(Seconds t) {
    const double v = std::max(0.0, t.value());
    const int minutes = static_cast<int>(v / 60.0);
    return printed("%d:%05.2f", minutes, v - 60.0 * minutes);
}

std::string place_text(const State& s, Seconds t) {
    if (!s.draft.bars) return time_text(t);
    // To a tenth of a beat, so that rounding never prints a beat that the bar does not have.
    const double tenths = std::round(s.draft.bars->beats_at(t).value() * 10.0) / 10.0;
    const BarBeat place = s.draft.bars->position_of(Beats(tenths));
    return printed("bar %d:%.1f", place.bar, place.beat.value() + 1.0);
}

std::string form_words(const Form& form) {
    const auto alike = [&](std::size_t period) {
        for (std::size_t i = period; i < form.size(); ++i) {
            const Section& one = form[i - period];
            if (form[i].letter != one.letter || form[i].bars != one.bars) return false;
        }
        return form.size() % period == 0;
    };
    std::size_t period = 1;
    while (period < form.size() && !(period > 1 && alike(period)))
        ++period;
    if (period < form.size()) {
        const Form once(form.begin(), form.begin() + static_cast<std::ptrdiff_t>(period));
        return to_text(once) + " × " + std::to_string(form.size() / period);
    }
    return form.size() > 8 ? std::to_string(form.size()) + " sections" : to_text(form);
}

std::string signed_figure(double v) {
    const double whole = std::round(v);
    return printed("%s%.0f", whole < 0 ? "−" : whole > 0 ? "+" : "", std::abs(whole));
}

std::string signed_cents(Cents c) {
    return signed_figure(c.value()) + " c";
}

std::string inflection_text(const State& s, const Note& note, const Inflection& i) {
    return std::visit([&](const auto& what) { return words_of(s, note, what); }, i.what);
}

}  // namespace bentline::window
