// Reads the holds and moves of a gesture as notes with slides, bends and trills.
#include "engine/notes/reading.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

#include "engine/median.h"
#include "engine/notes/line_models.h"
#include "engine/notes/odds.h"
#include "engine/notes/words.h"

namespace bentline::notes {

namespace {

// A move between two holds that matter, straight through any that do not.
struct Excursion {
    Hold a;
    Hold b;
    MoveFit fit;
    double size() const { return b.cents - a.cents; }
};

class Reader {
  public:
    Reader(const Gesture& gesture, const FineLine& line, const Attacks& attacks,
           const std::vector<double>& weights, const NoteSettings& settings)
        : gesture_(gesture),
          line_(line),
          attacks_(attacks),
          weights_(weights),
          settings_(settings) {
        ReadNote first;
        first.from = gesture.from;
        first.to = gesture.to;
        first.pluck = gesture.pluck;
        first.onset = line.time_of(gesture.from);
        if (gesture.pluck >= 0) {
            first.onset = attacks.plucks[static_cast<std::size_t>(gesture.pluck)].time;
        }
        notes_.push_back(first);
    }

    std::vector<ReadNote> read() {
        if (!read_trill()) read_moves();
        return std::move(notes_);
    }

  private:
    double seconds(const Hold& h) const { return static_cast<double>(h.to - h.from) * line_.hop; }
    double start(const Hold& h) const { return line_.time_of(h.from); }
    double end(const Hold& h) const { return line_.time_of(h.to); }

    // A quick alternation of two pitches, at least twice there and back.
    bool read_trill() {
        const auto& holds = gesture_.holds;
        const double turn = settings_.trill_longest_turn.value();
        std::size_t best_from = 0;
        std::size_t best_to = 0;
        for (std::size_t from = 0; from + 3 < holds.size(); ++from) {
            const double a = holds[from].cents;
            const double b = holds[from + 1].cents;
            const double apart = std::abs(b - a);
            if (apart < 70.0 || apart > 530.0) continue;
            std::size_t to = from + 1;
            while (to < holds.size()) {
                const double want = (to - from) % 2 == 0 ? a : b;
                if (std::abs(holds[to].cents - want) > 0.3 * apart + 10.0) break;
                // The first and the last of them may be held.
                if (to > from + 1 && seconds(holds[to - 1]) > turn) break;
                ++to;
            }
            if (to - from > best_to - best_from) {
                best_from = from;
                best_to = to;
            }
        }
        if (best_to - best_from < 4) return false;
        std::vector<double> evens;
        std::vector<double> odds;
        for (std::size_t i = best_from; i < best_to; ++i) {
            ((i - best_from) % 2 == 0 ? evens : odds).push_back(holds[i].cents);
        }
        // Blur pulls the turns together: the longest hold of each pitch says most, the median next.
        const double main = median(std::move(evens));
        const double other = median(std::move(odds));
        ReadNote& note = notes_.back();
        note.cents = main;
        for (std::size_t i = best_from; i < best_to; i += 2)
            note.plain.push_back(holds[i]);
        Trill trill;
        trill.semitones = static_cast<int>(std::lround((other - main) / 100.0));
        if (trill.semitones == 0) trill.semitones = other > main ? 1 : -1;
        const auto turns = static_cast<double>(best_to - best_from);
        note.read_odds = turns - 3.0;
        note.inflections.push_back(
            {trill, confidence_of(0.8 * (turns - 3.0)),
             words({"went to and fro ", count(turns), " times between two pitches ",
                    cents(std::abs(other - main)), " apart"})});
        return true;
    }

    // Holds too short to be notes, with the line passing through them in one direction, are passed
    // over.
    std::vector<Hold> lasting_holds() const {
        std::vector<Hold> holds = gesture_.holds;
        for (;;) {
            std::size_t shortest = 0;
            double least = 0.075;
            for (std::size_t i = 1; i + 1 < holds.size(); ++i) {
                const double in = holds[i].cents - holds[i - 1].cents;
                const double out = holds[i + 1].cents - holds[i].cents;
                if (in * out > 0.0 && seconds(holds[i]) < least) {
                    least = seconds(holds[i]);
                    shortest = i;
                }
            }
            if (shortest == 0) return holds;
            holds.erase(holds.begin() + static_cast<std::ptrdiff_t>(shortest));
        }
    }

    Excursion excursion(const Hold& a, const Hold& b) const {
        Excursion e{a, b, {}};
        const auto margin = static_cast<std::size_t>(0.04 / line_.hop);
        const std::size_t from = std::max(a.from, a.to > margin ? a.to - margin : 0);
        const std::size_t to = std::min(std::max(b.to, b.from), b.from + margin);
        e.fit = compare_move(line_, weights_, from, std::max(to, from + 1), {a.cents, seconds(a)},
                             {b.cents, seconds(b)}, settings_);
        return e;
    }

    void read_moves() {
        const std::vector<Hold> holds = lasting_holds();
        notes_.back().cents = holds.front().cents;
        notes_.back().plain = {holds.front()};
        double bent = 0.0;  // cents above the note's own pitch at the present hold
        for (std::size_t i = 1; i < holds.size(); ++i) {
            const Excursion e = excursion(holds[i - 1], holds[i]);
            const bool first = i == 1;
            const bool last = i + 1 == holds.size();
            const double before =
                std::max(start(e.b) - notes_.back().onset - seconds_moving(e), 0.0);
            const double after = last ? line_.time_of(gesture_.to) - start(e.b) : seconds(e.b);
            read_move(e, first, last, before, after, bent);
        }
        for (ReadNote& note : notes_) {
            if (note.inflections.empty()) settle_on_longest(note);
        }
    }

    // What neither slides nor is pushed has the pitch that it holds longest, not that of its
    // attack.
    void settle_on_longest(ReadNote& note) const {
        const auto longest = std::max_element(
            note.plain.begin(), note.plain.end(),
            [](const Hold& a, const Hold& b) { return a.to - a.from < b.to - b.from; });
        if (longest == note.plain.end() || std::abs(longest->cents - note.cents) < 20.0) return;
        note.cents = longest->cents;
        note.plain = {*longest};
    }

    double seconds_moving(const Excursion& e) const { return std::max(0.0, start(e.b) - end(e.a)); }

    void read_move(const Excursion& e, bool first, bool last, double before, double after,
                   double& bent) {
        ReadNote& note = notes_.back();
        const double size = e.size();
        const bool stepped =
            e.fit.stepped_odds > 0.0 || std::abs(size) > settings_.largest_bend.value();
        const double odds = std::abs(e.fit.stepped_odds);
        if (!stepped && std::abs(size) < settings_.smallest_bend.value()) {
            note.plain.push_back(e.b);
            return;
        }
        // No hand moves a string that fast from where it was not held: the attack did.
        if (!stepped && first && seconds(e.a) < 0.012 && e.fit.smooth_end - note.onset < 0.08) {
            note.cents = e.b.cents;
            note.plain = {e.b};
            return;
        }
        if (!stepped && size > 0.0) return bend_up(note, e, bent, odds);
        if (!stepped && bent > 0.0) return let_down(note, e, bent, odds);
        const bool falls_away = last && after < settings_.longest_slide_end.value();
        if (!stepped && first && !falls_away && note.inflections.empty()) {
            return prebend(note, e, bent, odds);
        }
        if (std::abs(size) < 70.0) {
            note.plain.push_back(e.b);
            return;
        }
        // More than a fret at once: a slur, or the tracker's stumble at an end of the note.
        const bool leap = e.fit.steps > 1 && e.fit.last_step - e.fit.first_step <
                                                 settings_.fastest_fret.value() * (e.fit.steps - 1);
        if (leap && falls_away) return;
        if (leap && first && before < settings_.shortest_note.value()) {
            note.cents = e.b.cents;
            note.plain = {e.b};
            return;
        }
        if (leap && e.fit.steps <= 5) return slur_on(e, bent);
        // a sag of the string's pitch, not a slide
        if (falls_away && (before > after || !first)) return slide_away(note, e, odds);
        if (first && before < longest_start(e) && note.inflections.empty()) {
            return slide_into(note, e, odds);
        }
        slide_on(e, odds, bent);
    }

    // How long the fret that a slide begins on may sound before it. Over one fret a slide and a
    // slur look alike, but that a hammered note is pushed on.
    double longest_start(const Excursion& e) const {
        const double longest = settings_.longest_slide_start.value();
        if (e.fit.steps > 1) return longest;
        const double push = std::clamp(push_at(e.fit.last_step), -0.5, 2.5);
        return longest - settings_.sooner_if_pushed.value() * (push + 0.5);
    }

    // The highest that a push gets: its held pitch, or the top of the line where it is let down at
    // once.
    double peak_of(const Excursion& e) const {
        if (seconds(e.b) >= 0.09) return e.b.cents;
        const auto margin = static_cast<std::size_t>(0.02 / line_.hop);
        std::vector<double> around;
        for (std::size_t i = e.b.from > margin ? e.b.from - margin : 0;
             i < std::min({e.b.to + margin, line_.size(), gesture_.to}); ++i) {
            if (line_.voiced[i] && weights_[i] > 0.0) around.push_back(line_.cents[i]);
        }
        if (around.size() < 5) return e.b.cents;
        const auto top = around.begin() + static_cast<std::ptrdiff_t>(around.size() * 4 / 5);
        std::nth_element(around.begin(), top, around.end());
        return std::clamp(*top, e.b.cents, e.b.cents + 25.0);
    }

    void bend_up(ReadNote& note, const Excursion& e, double& bent, double odds) {
        double rise = peak_of(e) - e.a.cents;
        if (bent == 0.0 && seconds(e.b) >= 0.09) {
            const auto fitted = smooth_rise(line_, weights_, note.from, gesture_.to,
                                            e.fit.smooth_start, e.fit.smooth_end);
            if (fitted && std::abs(*fitted - rise) < 20.0) rise = *fitted;
        }
        bent += rise;
        for (Inflection& i : note.inflections) {
            if (auto* b = std::get_if<Bend>(&i.what); b != nullptr && !b->release) {
                b->size = Cents(bent);
                b->peak = Seconds(e.fit.smooth_end);
                return;
            }
        }
        Bend bend;
        bend.size = Cents(bent);
        bend.start = Seconds(std::max(e.fit.smooth_start, note.onset));
        bend.peak = Seconds(std::max(e.fit.smooth_end, bend.start->value()));
        const double time = bend.peak->value() - bend.start->value();
        note.inflections.push_back({bend, confidence_of(0.5 + 0.3 * odds),
                                    words({"rose ", cents(e.size()), " in ", time_words(time),
                                           seconds(e.b) > 0.04 ? ", then held" : ""})});
    }

    void let_down(ReadNote& note, const Excursion& e, double& bent, double odds) {
        bent += e.size();
        for (Inflection& i : note.inflections) {
            auto* b = std::get_if<Bend>(&i.what);
            if (b == nullptr) continue;
            b->release = true;
            b->release_span = SecondsRange{Seconds(e.fit.smooth_start), Seconds(e.fit.smooth_end)};
            i.reason += words({", let down ", cents(-e.size())});
            if (i.confidence)
                *i.confidence = std::max(*i.confidence, confidence_of(0.5 + 0.3 * odds));
        }
        if (std::abs(bent) < 30.0) {
            bent = 0.0;
            note.plain.push_back(e.b);
        }
    }

    void prebend(ReadNote& note, const Excursion& e, double& bent, double odds) {
        if (-e.size() < settings_.smallest_prebend.value()) {
            note.cents = e.b.cents;
            note.plain = {e.b};
            return;
        }
        Bend bend;
        bend.size = Cents(-e.size());
        bend.start = Seconds(note.onset);
        bend.peak = Seconds(note.onset);
        bend.prebend = true;
        bend.release = true;
        bend.release_span = SecondsRange{Seconds(e.fit.smooth_start), Seconds(e.fit.smooth_end)};
        note.cents = e.b.cents;
        note.plain = {e.b};
        bent = 0.0;
        const double time = e.fit.smooth_end - e.fit.smooth_start;
        note.inflections.push_back(
            {bend, confidence_of(0.3 + 0.3 * odds),
             words({"struck ", cents(-e.size()), " high and let down in ", time_words(time)})});
    }

    void slide_into(ReadNote& note, const Excursion& e, double odds) {
        const int from = static_cast<int>(std::lround(e.fit.stepped_from / 100.0));
        const double arrive = std::max(e.fit.last_step, note.onset);
        SlideIn slide;
        slide.from = MidiKey(std::clamp(from, 0, 127));
        slide.span = SecondsRange{Seconds(note.onset), Seconds(arrive)};
        note.cents = e.b.cents;
        note.plain = {e.b};
        note.inflections.push_back(
            {slide, confidence_of(0.5 + 0.3 * odds),
             words({"struck ", cents(std::abs(e.size())), e.size() > 0.0 ? " below" : " above",
                    " and there in ", time_words(arrive - note.onset)})});
    }

    void slide_away(ReadNote& note, const Excursion& e, double odds) {
        SlideOut slide;
        slide.to =
            MidiKey(std::clamp(static_cast<int>(std::lround(e.fit.stepped_to / 100.0)), 0, 127));
        slide.span = SecondsRange{Seconds(e.fit.first_step),
                                  Seconds(std::max(e.fit.last_step, e.fit.first_step))};
        note.inflections.push_back(
            {slide, confidence_of(0.3 + 0.3 * odds),
             words({"left its pitch ", cents(std::abs(e.size())),
                    e.size() > 0.0 ? " upward" : " downward", " at its end"})});
    }

    // The line goes on to a pitch that stays: a note of its own that was not struck.
    void slide_on(const Excursion& e, double odds, double& bent) {
        ReadNote& note = notes_.back();
        // Over one fret a slide and a slur look alike: a hammered note is pushed on, and quick
        // lines are slurred.
        const bool quick = e.fit.last_step - note.onset < settings_.shortest_slide_on.value();
        const bool pushed = push_at(e.fit.last_step) > settings_.slur_push.value();
        if (e.fit.steps == 1 && (quick || pushed)) return slur_on(e, bent);
        SlideToNext slide;
        slide.span = SecondsRange{Seconds(e.fit.first_step),
                                  Seconds(std::max(e.fit.first_step, e.fit.last_step))};
        note.inflections.push_back(
            {slide, confidence_of(0.3 * odds),
             words({"went ", cents(std::abs(e.size())), e.size() > 0.0 ? " up" : " down",
                    " to the next note without a pluck"})});
        slur_on(e, bent);
    }

    // A note that begins at the move's end without a pluck.
    void slur_on(const Excursion& e, double& bent) {
        ReadNote& note = notes_.back();
        const double arrive =
            std::max(e.fit.last_step, note.onset + settings_.shortest_note.value());
        const std::size_t cut = std::clamp(line_.index_of(arrive), note.from, gesture_.to);
        note.to = cut;
        ReadNote next;
        next.from = cut;
        next.to = gesture_.to;
        next.onset = arrive;
        next.slid_to = true;
        next.cents = e.b.cents;
        next.plain = {e.b};
        bent = 0.0;
        notes_.push_back(next);
    }

    // How much louder the followed sound gets around a time, dB.
    double push_at(double time) const {
        const auto mean = [&](double from, double to) {
            double sum = 0.0;
            double n = 0.0;
            for (std::size_t t = attacks_.frame_at(from); t <= attacks_.frame_at(to); ++t) {
                if (attacks_.level[t] < -119.0) continue;
                sum += attacks_.level[t];
                n += 1.0;
            }
            return n > 0.0 ? sum / n : -120.0;
        };
        return mean(time + 0.010, time + 0.030) - mean(time - 0.030, time - 0.010);
    }

    const Gesture& gesture_;
    const FineLine& line_;
    const Attacks& attacks_;
    const std::vector<double>& weights_;
    const NoteSettings& settings_;
    std::vector<ReadNote> notes_;
};

}  // namespace

std::vector<ReadNote> read_gesture(const Gesture& gesture, const FineLine& line,
                                   const Attacks& attacks, const std::vector<double>& weights,
                                   const NoteSettings& settings) {
    return Reader(gesture, line, attacks, weights, settings).read();
}

}  // namespace bentline::notes
