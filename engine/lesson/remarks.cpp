// Sentences from figures.
#include "engine/lesson/remarks.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "engine/lesson/lesson_text.h"

namespace bentline {
namespace {

const std::map<std::string, std::string> kind_words = {
    {"slide_in", "slid into from below or above"},
    {"slide_to_next", "slid on to the next, not struck"},
    {"slide_out", "left with a slide"},
    {"bend", "bent"},
    {"vibrato", "shaken"},
    {"trill", "trilled"},
    {"staccato", "clipped short"},
    {"accent", "leaned on"}};

std::string percent(double share) {
    return figure_text(100.0 * share, 0) + " %";
}

class Teacher {
  public:
    Teacher(const Draft& draft, const LessonFigures& f) : draft_(draft), f_(f) {}

    std::vector<Remark> speak() {
        if (f_.notes.empty()) return {};
        phrases();
        density();
        range();
        dynamics();
        insistence();
        sweeps();
        replies();
        inflections();
        harmony();
        rhythm();
        return std::move(said_);
    }

  private:
    Seconds onset(std::size_t note) const { return f_.notes[note].onset; }
    std::string name(std::size_t note) const {
        return key_name(f_.notes[note].key, draft_.key_at(f_.notes[note].onset));
    }
    std::string at(std::size_t note) const { return place_text(onset(note), draft_.bars); }

    void say(std::string topic, std::string sentence, std::string figure,
             std::vector<Seconds> places = {}) {
        std::string where = places.empty() ? "" : places_text(places, draft_.bars);
        said_.push_back({std::move(topic), std::move(sentence), std::move(figure),
                         std::move(places), std::move(where)});
    }

    void phrases() {
        std::vector<Seconds> starts;
        const SoloPhrase* longest = &f_.phrases.front();
        for (const SoloPhrase& p : f_.phrases) {
            starts.push_back(p.span.from);
            if (p.size() > longest->size()) longest = &p;
        }
        const double middle = f_.median_phrase();
        std::string words = "The solo speaks in " + counted(f_.phrases.size(), "phrase") + ". ";
        if (f_.phrases.size() > 2) {
            words += middle < 8.0    ? "They are short: there is room between the thoughts."
                     : middle > 18.0 ? "They are long: one breath carries far."
                                     : "They are of the usual length.";
        }
        say("phrases", words,
            "median " + figure_text(middle, middle == std::floor(middle) ? 0 : 1) +
                " notes a phrase (13 in a large collection of improvised solos, Frieler et al. "
                "2016); the longest has " +
                counted(longest->size(), "note"),
            starts);
    }

    void density() {
        if (f_.stretches.size() < 2) return;
        // Where the solo begins and ends is not where it is sparse.
        const std::ptrdiff_t edge = f_.stretches.size() >= 4 ? 1 : 0;
        const auto [least, most] = std::minmax_element(
            f_.stretches.begin() + edge, f_.stretches.end() - edge,
            [](const Stretch& a, const Stretch& b) { return a.per_second < b.per_second; });
        const double whole = static_cast<double>(f_.notes.size()) / f_.length().value();
        say("density",
            "It is busiest in " + most->name + " and leaves most room in " + least->name + ".",
            figure_text(most->per_second, 1) + " and " + figure_text(least->per_second, 1) +
                " notes a second; " + figure_text(whole, 1) + " over the solo",
            {most->span.from});
        if (f_.sections.size() < 2) return;
        const auto fullest = std::max_element(
            f_.sections.begin(), f_.sections.end(),
            [](const Stretch& a, const Stretch& b) { return a.per_second < b.per_second; });
        if (fullest->notes == 0) return;
        say("density", "The fullest section is " + fullest->name + ".",
            figure_text(fullest->per_second, 1) + " notes a second", {fullest->span.from});
    }

    void range() {
        const auto by_key = [](const Note& a, const Note& b) { return a.key < b.key; };
        const auto low = std::min_element(f_.notes.begin(), f_.notes.end(), by_key);
        const auto high = std::max_element(f_.notes.begin(), f_.notes.end(), by_key);
        const int span = high->key.value() - low->key.value();
        const double place =
            f_.length() > Seconds(0) ? (high->onset - f_.notes.front().onset) / f_.length() : 0.0;
        std::string words = "The line lies between " +
                            key_name(low->key, draft_.key_at(low->onset)) + " and " +
                            key_name(high->key, draft_.key_at(high->onset)) + ".";
        if (f_.notes.size() >= 8) {
            words += place > 0.6   ? " The highest note is saved for late."
                     : place < 0.3 ? " The highest note comes early; the line comes down from it."
                                   : " It climbs to the highest note in the middle.";
        }
        say("register", words,
            counted(static_cast<std::size_t>(span), "semitone") + "; the highest at " +
                percent(place) + " of the solo",
            {high->onset});
    }

    void dynamics() {
        const SoloPhrase* softest = nullptr;
        const SoloPhrase* loudest = nullptr;
        for (const SoloPhrase& p : f_.phrases) {
            if (!p.level || p.size() < 3) continue;
            if (!softest || *p.level < *softest->level) softest = &p;
            if (!loudest || *p.level > *loudest->level) loudest = &p;
        }
        if (!loudest || softest == loudest) return;
        const Decibels reach = *loudest->level - *softest->level;
        if (reach < Decibels(2.0)) {
            say("dynamics", "All phrases are about equally loud.",
                figure_text(reach.value(), 1) + " dB between softest and loudest");
            return;
        }
        const double place = (loudest->span.from - f_.notes.front().onset) / f_.length();
        say("dynamics",
            place > 0.6   ? "It builds up to the loudest phrase, late in the solo."
            : place < 0.2 ? "It begins with the loudest phrase and draws back after it."
                          : "The loudest phrase lies in the middle.",
            figure_text(reach.value(), 1) + " dB between softest (" +
                place_text(softest->span.from, draft_.bars) + ") and loudest",
            {loudest->span.from});
    }

    void insistence() {
        for (const RepeatedNote& r : f_.repeated) {
            say("insistence", "One note is insisted on, " + name(r.first) + ".",
                std::to_string(r.last - r.first) + " times in a row", {onset(r.first)});
        }
        for (const Motif& m : f_.motifs) {
            std::vector<Seconds> places;
            std::string moves;
            for (const MotifPlace& p : m.places) {
                places.push_back(onset(p.first));
                if (p.transposed == 0 || m.likeness != Likeness::transposed) continue;
                moves += (moves.empty() ? "" : ", ") +
                         std::string(p.transposed > 0 ? "+" : "\u2212") +
                         std::to_string(std::abs(p.transposed));
            }
            const std::string what =
                m.likeness == Likeness::exact        ? "A figure comes back note for note."
                : m.likeness == Likeness::transposed ? "A figure comes back on other steps."
                                                     : "A rhythm comes back with other notes.";
            say("insistence", what,
                counted(m.notes, "note") + ", " + std::to_string(m.places.size()) + " times" +
                    (moves.empty() ? "" : "; moved by " + moves + " semitones"),
                std::move(places));
        }
    }

    void sweeps() {
        for (const Sweep& s : f_.sweeps) {
            say("sweeps",
                std::string("A sweep ") + (s.upward ? "up" : "down") +
                    " across the strings, from " + name(s.first) + " to " + name(s.last - 1) + ".",
                counted(s.last - s.first, "note") + " at " + figure_text(s.per_second, 0) +
                    " a second",
                {onset(s.first)});
        }
    }

    void replies() {
        for (const Reply& r : f_.replies) {
            const SoloPhrase& call = f_.phrases[r.call];
            const SoloPhrase& answer = f_.phrases[r.call + 1];
            std::string words;
            std::string figure;
            if (r.by == Reply::By::place) {
                words = std::string("The second phrase answers the first from ") +
                        (r.apart > 0.0 ? "above." : "below.");
                figure = figure_text(std::abs(r.apart), 0) + " semitones apart";
            } else {
                words = r.by == Reply::By::figure
                            ? "The second phrase begins like the first and goes its own way."
                            : "The second phrase takes up the rhythm of the first.";
                figure = counted(r.steps + 1, "note") + " in common";
            }
            say("call and answer", words, figure, {call.span.from, answer.span.from});
        }
    }

    void inflections() {
        for (const InflectionFigures& k : f_.inflections) {
            std::vector<Seconds> places;
            for (const std::size_t n : k.notes)
                places.push_back(onset(n));
            const bool one = k.notes.size() == 1;
            const std::string words = counted(k.notes.size(), "note") + (one ? " is " : " are ") +
                                      kind_words.at(k.kind) + ".";
            std::string figure = percent(static_cast<double>(k.notes.size()) /
                                         static_cast<double>(f_.notes.size())) +
                                 " of all notes";
            if (!k.sizes.empty()) {
                const auto [low, high] = std::minmax_element(k.sizes.begin(), k.sizes.end());
                figure += "; " + figure_text(*low, 0);
                if (*low != *high)
                    figure += " to " + figure_text(*high, 0) + ", median " +
                              figure_text(median_of(k.sizes), 0);
                figure += " " + (*high == 1.0 ? k.unit.substr(0, k.unit.size() - 1) : k.unit);
            }
            if (!k.rates.empty()) figure += ", " + figure_text(median_of(k.rates), 1) + " Hz";
            say("inflections", words, figure, std::move(places));
        }
    }

    void harmony() {
        if (f_.chord_notes.empty()) return;
        std::size_t on = 0;
        std::size_t on_tones = 0;
        std::size_t off = 0;
        std::size_t off_tones = 0;
        std::vector<Seconds> bold;
        std::map<std::string, std::size_t> targets;
        for (const ChordNote& n : f_.chord_notes) {
            (n.on_beat ? on : off) += 1;
            if (n.chord_tone) (n.on_beat ? on_tones : off_tones) += 1;
            if (n.on_beat && !n.chord_tone) bold.push_back(onset(n.note));
            if (n.downbeat) ++targets[n.degree];
        }
        const double share_on = on ? static_cast<double>(on_tones) / static_cast<double>(on) : 0.0;
        const double share_off =
            off ? static_cast<double>(off_tones) / static_cast<double>(off) : 0.0;
        std::string words = "The line moves over the chords freely.";
        if (share_on >= 0.7) words = "On the beat the line plays the chord.";
        if (share_on >= 0.7 && share_off < share_on - 0.15)
            words = "On the beat the line plays the chord; the colours lie between the beats.";
        say("harmony", words,
            std::to_string(on_tones) + " of " + counted(on, "note") + " on a beat and " +
                std::to_string(off_tones) + " of " + std::to_string(off) +
                " off it are chord tones");
        if (!bold.empty() && share_on >= 0.5) {
            std::string figure = counted(bold.size(), "note");
            say("harmony", "Here the line leans on a tension, on the beat.", std::move(figure),
                std::move(bold));
        }
        if (targets.empty()) return;
        std::size_t most = 0;
        std::string favourite;
        std::size_t all = 0;
        for (const auto& [degree, count] : targets) {
            all += count;
            if (count > most) {
                most = count;
                favourite = degree;
            }
        }
        // A favourite is more than chance among a dozen degrees.
        if (most < 3 || 10 * most < 3 * all) return;
        std::vector<Seconds> places;
        for (const ChordNote& n : f_.chord_notes) {
            if (n.downbeat && n.degree == favourite) places.push_back(onset(n.note));
        }
        say("harmony",
            "The favourite target on beat one is the " +
                (favourite == "R" ? std::string("root") : printed_signs(favourite)) +
                " of the chord.",
            std::to_string(most) + " of " + counted(all, "bar") + " that have a note there",
            std::move(places));
    }

    void rhythm() {
        const RhythmFigures& r = f_.rhythm;
        if (r.swing) {
            const double s = *r.swing;
            say("rhythm",
                s < 1.15  ? "The eighths are even."
                : s < 1.5 ? "The eighths swing lightly."
                          : "The eighths swing hard.",
                "long to short " + figure_text(s, 2) +
                    " : 1 (soloists' typical ratio is 1.3 : 1, Corcoran & Frieler 2021)");
        }
        if (r.late) {
            const double ms = r.late->value() * 1000.0;
            if (std::abs(ms) >= 8.0) {
                say("rhythm",
                    ms > 0.0 ? "The line leans back, behind the beat."
                             : "The line pushes, ahead of the beat.",
                    figure_text(std::abs(ms), 0) + " ms" +
                        (ms > 0.0 ? " late over the whole line" : " early over the whole line"));
            }
        }
        if (r.run_last - r.run_first >= 6) {
            say("rhythm", "The longest run without a break.",
                counted(r.run_last - r.run_first, "note") + " at " +
                    figure_text(r.run_per_second, 1) + " a second",
                {onset(r.run_first)});
        }
    }

    const Draft& draft_;
    const LessonFigures& f_;
    std::vector<Remark> said_;
};

}  // namespace

std::vector<Remark> remarks_on(const Draft& draft, const LessonFigures& figures) {
    return Teacher(draft, figures).speak();
}

}  // namespace bentline
