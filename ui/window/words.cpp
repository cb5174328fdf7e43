// Figures and signs in words.
#include <algorithm>
#include <cmath>
#include <vector>

#include "ui/window/page.h"
#include "ui/window/printed.h"
#include "ui/window/spelling.h"

namespace bentline::window {
namespace {

std::string words_of(const State& s, const Note& note, const SlideIn& slide) {
    return slide.from
               ? "slide in from " + spelled_with_octave(*slide.from, shown_key(s, note.onset))
               : "slide in";
}
std::string words_of(const State& s, const Note& note, const SlideOut& slide) {
    return slide.to ? "slide out to " + spelled_with_octave(*slide.to, shown_key(s, note.onset))
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
                                               shown_key(s, note.onset));
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

std::optional<Key> shown_key(const State& s, Seconds t) {
    const std::optional<Key> told = s.draft.key_at(t);
    if (told || !s.written.score || s.key_waits) return told;
    return s.written.score->key;
}

std::string place_text(const State& s, Seconds t) {
    if (!s.draft.bars) return time_text(t);
    // To a tenth of a beat, so that rounding never prints a beat that the bar does not have.
    const double tenths = std::round(s.draft.bars->beats_at(t).value() * 10.0) / 10.0;
    const BarBeat place = s.draft.bars->position_of(Beats(tenths));
    // Bar 0 is the pickup; what lies before that is counted in.
    if (place.bar < 0) return "before bar 1";
    return printed("bar %d:%.1f", place.bar, place.beat.value() + 1.0);
}

std::vector<int> chorus_bars(const Form& form) {
    if (form.size() < 2) return {};
    const int first = form.front().first_bar;
    const int all = form.back().first_bar + form.back().bars - first;
    // How many of the later sections stand a chorus behind one of their letter.
    const auto alike = [&](int chorus) {
        std::size_t later = 0, found = 0;
        for (const Section& one : form) {
            if (one.first_bar - first < chorus) continue;
            ++later;
            found += std::any_of(form.begin(), form.end(), [&](const Section& before) {
                return before.first_bar == one.first_bar - chorus && before.letter == one.letter;
            });
        }
        return static_cast<double>(found) / static_cast<double>(std::max<std::size_t>(1, later));
    };
    const auto begins = [&](int bar) {
        return std::any_of(form.begin(), form.end(),
                           [&](const Section& one) { return one.first_bar == bar; });
    };
    // A chorus is no shorter than a blues (common practice, no source); a section that was split
    // or renamed in one of them does not make it another tune.
    constexpr int shortest = 12;
    constexpr double enough = 0.75;
    for (int chorus = shortest; chorus <= all / 2; ++chorus) {
        if (all % chorus != 0 || alike(chorus) < enough) continue;
        std::vector<int> bars;
        for (int bar = first; bar < first + all && begins(bar); bar += chorus)
            bars.push_back(bar);
        if (static_cast<int>(bars.size()) == all / chorus) return bars;
    }
    return {};
}

std::string form_words(const Form& form) {
    const std::vector<int> choruses = chorus_bars(form);
    if (!choruses.empty()) {
        const auto in_first = [&](const Section& one) { return one.first_bar < choruses[1]; };
        const Form once(form.begin(), std::find_if_not(form.begin(), form.end(), in_first));
        const std::string count = std::to_string(choruses.size());
        Form same = repeated(once, static_cast<int>(choruses.size()));
        const bool all_alike = std::equal(same.begin(), same.end(), form.begin(), form.end(),
                                          [](const Section& a, const Section& b) {
                                              return a.letter == b.letter && a.bars == b.bars;
                                          });
        return all_alike ? to_text(once) + " × " + count : count + " choruses";
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
