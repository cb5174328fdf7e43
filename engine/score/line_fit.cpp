// Searches swing and lateness around the cheapest path.
#include "engine/score/line_fit.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "engine/median.h"
#include "engine/score/pulses.h"

namespace bentline {
namespace {

constexpr double straight_off_beat = 0.5;
// Off-beats of one letter's sections that lie this far from the others', in shares of a beat, are
// another feel: a third of the way from straight (0.5) to the triplet feel (0.667). And this many
// of them, at so many standard errors, so that chance does not make one.
constexpr double clearly_apart = 0.06;
constexpr std::size_t enough_off_beats = 8;
constexpr double enough_errors = 4.0;

double off_beat_of(double ratio) {
    return ratio / (1.0 + ratio);
}

// Standard error of the middle of values, by their middle distance from it (of a normal spread:
// 1.4826 of it is the standard deviation, and the middle's error 1.2533 of the mean's).
double error_of_middle(const std::vector<double>& values, double at) {
    std::vector<double> off;
    for (const double v : values)
        off.push_back(std::abs(v - at));
    const double spread = std::max(0.01, 1.4826 * median(std::move(off)));
    return 1.2533 * spread / std::sqrt(static_cast<double>(values.size()));
}

// How unusual a swing and a lateness are. Soloists swing far less than the drummer behind them
// (Friberg & Sundstrom 2002), 1.3:1 on the whole (Corcoran & Frieler 2021, 456 solos), with a wide
// spread; the short eighth is seldom shorter than 100 ms at any tempo (Friberg & Sundstrom 2002),
// which bounds the ratio when it is fast. Players lean back more often than they push, seldom
// beyond 60 ms (Nelias et al. 2022: soloists' downbeats about 30 ms late at 150 beats a minute).
double unusual_swing(double off_beat, Seconds beat) {
    if (off_beat <= 0.52) return 0.0;
    constexpr double being_said = 1.0;  // a swing has to pay for being said
    const double wide = std::log(swing_ratio(off_beat) / 1.3) / 0.6;
    const double hasty = std::max(0.0, 0.100 - (1.0 - off_beat) * beat.value()) / 0.025;
    return being_said + 0.5 * wide * wide + 0.5 * hasty * hasty;
}
double unusual_lateness(Seconds late) {
    const double z = (late.value() - 0.012) / 0.025;
    return 0.5 * z * z;
}

// Which sections share a feel: for each pulse the number of its letter, from 0.
std::vector<std::size_t> letters_of(const std::vector<Pulse>& pulses, const Form& form) {
    std::vector<std::string> letters;
    std::vector<std::size_t> of(pulses.size(), 0);
    for (std::size_t p = 0; p < pulses.size() && !form.empty(); ++p) {
        const auto after =
            std::upper_bound(form.begin(), form.end(), pulses[p].bar,
                             [](int bar, const Section& s) { return bar < s.first_bar; });
        const Section& here = after == form.begin() ? form.front() : *(after - 1);
        const auto known = std::find(letters.begin(), letters.end(), here.letter);
        of[p] = static_cast<std::size_t>(known - letters.begin());
        if (known == letters.end()) letters.push_back(here.letter);
    }
    return of;
}

struct Fit {
    std::vector<double> feels;  // off-beat of each letter
    Seconds late;
    GridPath path;
    double total = std::numeric_limits<double>::infinity();
};

class Fitter {
  public:
    Fitter(const std::vector<Note>& notes, const std::vector<Pulse>& pulses,
           const QuantiseSettings& settings)
        : notes_(notes),
          pulses_(pulses),
          settings_(settings),
          letter_(letters_of(pulses, settings.form)),
          letters_(1 + *std::max_element(letter_.begin(), letter_.end())) {
        std::vector<double> lengths;
        for (const Pulse& p : pulses)
            lengths.push_back((p.to - p.from).value());
        beat_ = Seconds(median(std::move(lengths)));
    }

    LineFit best() const;

  private:
    std::vector<Stroke> strokes_of(Seconds late) const;
    std::vector<double> by_pulse(const std::vector<double>& feels) const;
    Fit at(const std::vector<double>& feels, Seconds late, bool quick) const;
    Fit refined(const Fit& fit) const;
    Fit with_feels_apart(const Fit& fit) const;
    // Where off-beat eighths lie in their beats, by letter.
    std::vector<std::vector<double>> off_beats(const Fit& fit, bool straight_too) const;

    const std::vector<Note>& notes_;
    const std::vector<Pulse>& pulses_;
    const QuantiseSettings& settings_;
    const std::vector<std::size_t> letter_;  // [pulse]
    const std::size_t letters_;
    Seconds beat_;
};

std::vector<Stroke> Fitter::strokes_of(Seconds late) const {
    std::vector<Stroke> strokes;
    strokes.reserve(notes_.size());
    for (std::size_t i = 0; i < notes_.size(); ++i) {
        Stroke s;
        s.at = pulse_at(pulses_, notes_[i].onset - late);
        if (const SlideIn* slide = find<SlideIn>(notes_[i]); slide && slide->span) {
            // What the player puts on the beat lies between the pluck and the arrival.
            const Seconds reach = std::min(slide->span->to - notes_[i].onset, Seconds(0.08));
            s.leeway = std::max(0.0, pulse_at(pulses_, notes_[i].onset + reach - late) - s.at);
        }
        if (i + 1 < notes_.size()) s.to_next = notes_[i + 1].onset - notes_[i].onset;
        strokes.push_back(s);
    }
    return strokes;
}

std::vector<double> Fitter::by_pulse(const std::vector<double>& feels) const {
    std::vector<double> all;
    all.reserve(pulses_.size());
    for (const std::size_t letter : letter_)
        all.push_back(feels[letter]);
    return all;
}

Fit Fitter::at(const std::vector<double>& feels, Seconds late, bool quick) const {
    Fit fit{feels, late,
            cheapest_path(pulses_, strokes_of(late), by_pulse(feels), settings_, quick), 0.0};
    fit.total = fit.path.cost + unusual_lateness(late);
    for (std::size_t l = 0; l < feels.size(); ++l) {
        const auto same = feels.begin() + static_cast<std::ptrdiff_t>(l);
        if (std::find(feels.begin(), same, feels[l]) == same)
            fit.total += unusual_swing(feels[l], beat_) + (l > 0 ? 1.0 : 0.0);
    }
    return fit;
}

std::vector<std::vector<double>> Fitter::off_beats(const Fit& fit, bool straight_too) const {
    const std::vector<Stroke> strokes = strokes_of(fit.late);
    std::vector<std::vector<double>> found(letters_);
    for (std::size_t p = 0; p < pulses_.size(); ++p) {
        const PulseChoice& choice = fit.path.pulses[p];
        if (choice.grid != Grid::eighths || pulses_[p].compound) continue;
        if (choice.straight && !straight_too) continue;
        for (std::size_t n = choice.first; n < choice.last; ++n) {
            if (choice.place[n - choice.first] == 1 && strokes[n].leeway <= 0.0)
                found[letter_[p]].push_back(strokes[n].at - static_cast<double>(p));
        }
    }
    return found;
}

// One step of fitting swing and lateness to the places that a path chose.
Fit Fitter::refined(const Fit& fit) const {
    const std::vector<Stroke> strokes = strokes_of(fit.late);
    std::vector<double> late;
    for (std::size_t p = 0; p < pulses_.size(); ++p) {
        const PulseChoice& choice = fit.path.pulses[p];
        for (std::size_t n = choice.first; n < choice.last; ++n) {
            const int place = choice.place[n - choice.first];
            if (place < 0 || strokes[n].leeway > 0.0) continue;
            if (choice.grid == Grid::eighths && !pulses_[p].compound && place == 1) continue;
            const double meant = place_in_pulse(choice.grid, pulses_[p].compound, 0.5, place);
            late.push_back((strokes[n].at - static_cast<double>(p) - meant) *
                           (pulses_[p].to - pulses_[p].from).value());
        }
    }
    Fit next = fit;
    if (late.size() >= 3 && !settings_.late) {
        next.late = Seconds(std::clamp(fit.late.value() + median(late), -0.03, 0.07));
    }
    // Letters of one feel are measured together.
    const auto found = off_beats(fit, false);
    for (std::size_t l = 0; l < letters_ && !settings_.swing; ++l) {
        std::vector<double> together;
        for (std::size_t k = 0; k < letters_; ++k) {
            if (fit.feels[k] == fit.feels[l])
                together.insert(together.end(), found[k].begin(), found[k].end());
        }
        if (together.size() >= 3)
            next.feels[l] = std::clamp(median(std::move(together)), straight_off_beat, 0.8);
    }
    return at(next.feels, next.late, false);
}

// Letters whose off-beats clearly lie elsewhere than the other letters' get a feel of their own.
Fit Fitter::with_feels_apart(const Fit& fit) const {
    const auto found = off_beats(fit, true);
    std::vector<double> feels = fit.feels;
    bool any = false;
    for (std::size_t l = 0; l < letters_; ++l) {
        std::vector<double> rest;
        for (std::size_t k = 0; k < letters_; ++k) {
            if (k != l) rest.insert(rest.end(), found[k].begin(), found[k].end());
        }
        if (found[l].size() < enough_off_beats || rest.size() < enough_off_beats) continue;
        const double here = median(found[l]);
        const double there = median(rest);
        const double error =
            std::hypot(error_of_middle(found[l], here), error_of_middle(rest, there));
        if (std::abs(here - there) < std::max(clearly_apart, enough_errors * error)) continue;
        feels[l] = std::clamp(here, straight_off_beat, 0.8);
        any = true;
    }
    return any ? at(feels, fit.late, false) : fit;
}

LineFit Fitter::best() const {
    const std::vector<double> swings =
        settings_.swing ? std::vector<double>{off_beat_of(*settings_.swing)}
                        : std::vector<double>{straight_off_beat, 0.56, 0.61, 0.66, 0.71, 0.76};
    const std::vector<double> lates = settings_.late
                                          ? std::vector<double>{settings_.late->value()}
                                          : std::vector<double>{-0.02, 0.0, 0.02, 0.04, 0.06};
    Fit best;
    for (const double off_beat : swings) {
        for (const double late : lates) {
            Fit fit = at(std::vector<double>(letters_, off_beat), Seconds(late), true);
            if (fit.total < best.total) best = std::move(fit);
        }
    }
    best = at(best.feels, best.late, false);
    const auto refine = [&] {
        for (int step = 0; step < 3; ++step) {
            Fit next = refined(best);
            if (next.total >= best.total) break;
            best = std::move(next);
        }
    };
    refine();
    const double whole = best.feels.front();
    if (letters_ > 1 && !settings_.swing) {
        Fit apart = with_feels_apart(best);
        if (apart.total < best.total) {
            best = std::move(apart);
            refine();
        }
    }
    return {whole, by_pulse(best.feels), best.late, std::move(best.path)};
}

}  // namespace

double swing_ratio(double off_beat) {
    return off_beat / (1.0 - off_beat);
}

LineFit fit_line(const std::vector<Note>& notes, const std::vector<Pulse>& pulses,
                 const QuantiseSettings& settings) {
    return Fitter(notes, pulses, settings).best();
}

std::vector<SwingFrom> swing_changes(const std::vector<Pulse>& pulses, const LineFit& fit,
                                     bool swung) {
    std::vector<SwingFrom> changes{
        {pulses.front().bar, swung ? swing_ratio(fit.off_beats.front()) : 1.0}};
    for (std::size_t p = 1; p < pulses.size() && swung; ++p) {
        if (fit.off_beats[p] != fit.off_beats[p - 1])
            changes.push_back({pulses[p].bar, swing_ratio(fit.off_beats[p])});
    }
    return changes;
}

}  // namespace bentline
