// Plays the slots of a line: decides how each note is struck and inflected, and writes down the
// truth.
#include "tests/corpus/phrase.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <map>
#include <optional>
#include <utility>

#include "tests/corpus/inflecting.h"
#include "tests/corpus/rhythm.h"

namespace bentline::corpus {

namespace {

using testing::Dice;

// What a player's hand is like over a whole phrase.
struct Hand {
    double legato;     // share of a slot that a plain note rings
    Decibels level;    // of plain notes
    double uneven;     // dB, standard deviation of plain notes
    Cents intonation;  // standard deviation of fretting
    Seconds release;
    std::optional<Decibels> pick_noise;    // re the stroke
    std::optional<Decibels> finger_noise;  // re the phrase's level
};

Hand draw_hand(Dice& dice, const PhraseSettings& settings) {
    Hand h{};
    h.legato = dice.between(0.88, 1.0);
    h.level = Decibels(dice.between(-30.0, -22.0));
    h.uneven = dice.between(0.5, 1.5);
    h.intonation = Cents(dice.between(0.0, 3.0));
    h.release = Seconds(dice.between(0.02, 0.07));
    if (settings.noises && dice.chance(0.5)) h.pick_noise = Decibels(dice.between(-40.0, -24.0));
    if (settings.noises && dice.chance(0.4)) h.finger_noise = Decibels(dice.between(-42.0, -28.0));
    return h;
}

Swell draw_swell(Dice& dice, Seconds length) {
    const double from = dice.between(0.5, length.value() / 2);
    const double over = dice.between(2.0, 4.0);
    const double rise = dice.between(6.0, 12.0);
    const bool up = dice.chance(0.7);
    return {{Seconds(from), Seconds(from + over)},
            Decibels(up ? -rise : 0.0),
            Decibels(up ? 0.0 : -rise)};
}

// How a note is joined to the one before it.
enum class Joined { struck, slid, slurred };

class Performance {
  public:
    Performance(std::uint64_t seed, const PhraseSettings& settings)
        : settings_(settings), dice_(seed), hand_(draw_hand(dice_, settings)) {}

    Phrase play() {
        const Lines lines = write_slots(dice_, settings_);
        slots_ = lines.slots;
        phrase_.beats_per_minute = lines.beats_per_minute;
        phrase_.first_beat = lines.first_beat;
        phrase_.tonic = lines.tonic;
        phrase_.scale = lines.scale;
        for (std::size_t i = 0; i < slots_.size(); ++i) {
            if (!slots_[i].rest) play_slot(i);
        }
        if (dice_.chance(0.25)) phrase_.swells.push_back(draw_swell(dice_, settings_.length));
        phrase_.length = phrase_.strokes.back().damped + Seconds(0.6);
        if (settings_.unison_bends) add_strings_beside();
        return std::move(phrase_);
    }

  private:
    bool followed(std::size_t i) const { return i + 1 < slots_.size() && !slots_[i + 1].rest; }

    void play_slot(std::size_t i) {
        const Slot& slot = slots_[i];
        if (joined_ == Joined::struck) strike(i);
        PhraseNote note;
        note.stroke = phrase_.strokes.size() - 1;
        note.truth.onset = slot.at;
        note.truth.key = slot.key;
        Stroke& stroke = phrase_.strokes.back();
        if (joined_ == Joined::struck) stroke.contour.base = Pitch(slot.key) + fretting_;

        const double ring =
            followed(i) ? hand_.legato : std::min(hand_.legato, dice_.between(0.82, 1.0));
        Seconds end = slot.at + slot.length * ring;
        const bool was_joined = joined_ != Joined::struck;
        joined_ = Joined::struck;

        Inflecting work{dice_,     stroke, note, slot.at - stroke.pluck, end - stroke.pluck,
                        was_joined};
        const double share = slot.length >= Seconds(0.3) ? 1.6 : 0.7;
        if (!slot.sweep && dice_.chance(settings_.inflected * share)) {
            const Choice choice = choose(i, was_joined);
            if (choice == Choice::slide_to_next || choice == Choice::slur) {
                end = join(i, choice, work);
            } else {
                end = stroke.pluck + work.apply(choice);
            }
        }
        note.truth.offset = end;
        note.plain = {stroke.pluck + work.plain().from, stroke.pluck + work.plain().to};
        stroke.damped = end;
        phrase_.notes.push_back(std::move(note));
    }

    // After all else is drawn, so that the phrase is the same without them.
    void add_strings_beside() {
        for (const PhraseNote& n : phrase_.notes) {
            const Bend* bend = find<Bend>(n.truth);
            if (!bend || bend->prebend || bend->release) continue;
            const auto alone =
                std::count_if(phrase_.notes.begin(), phrase_.notes.end(),
                              [&](const PhraseNote& o) { return o.stroke == n.stroke; });
            const double semitones = std::round(bend->size.value() / 100.0);
            const double off = bend->size.value() - 100.0 * semitones;
            if (alone != 1 || semitones < 1.0 || std::abs(off) > 15.0) continue;
            phrase_.beside.push_back(
                {n.stroke, MidiKey(n.truth.key.value() + static_cast<int>(semitones)),
                 Seconds(dice_.between(0.0, 0.008)), Decibels(dice_.between(3.0, 8.0))});
        }
    }

    void strike(std::size_t i) {
        Stroke s;
        s.pluck = slots_[i].at;
        s.key = slots_[i].key;
        s.release = hand_.release;
        s.level = hand_.level + Decibels(hand_.uneven * dice_.normal());
        fretting_ = Cents(hand_.intonation.value() * dice_.normal());
        phrase_.strokes.push_back(s);
        if (hand_.pick_noise) {
            phrase_.scratches.push_back(
                {s.pluck - Seconds(dice_.between(0.0, 0.006)), Seconds(dice_.between(0.004, 0.012)),
                 s.level + *hand_.pick_noise + Decibels(2.0 * dice_.normal()),
                 Hertz(dice_.between(1500.0, 6000.0))});
        }
        const bool gap = i > 0 && slots_[i - 1].rest;
        if (hand_.finger_noise && dice_.chance(gap ? 0.3 : 0.08)) {
            phrase_.scratches.push_back(
                {s.pluck - Seconds(dice_.between(0.05, 0.12)), Seconds(dice_.between(0.02, 0.06)),
                 hand_.level + *hand_.finger_noise, Hertz(dice_.between(1000.0, 3500.0))});
        }
    }

    Choice choose(std::size_t i, bool was_joined) {
        const double d = slots_[i].length.value();
        std::vector<std::pair<Choice, double>> options;
        // What the phrase has had already comes less often.
        const auto offer = [&](Choice c, double weight, bool fits) {
            if (fits) options.emplace_back(c, weight / (1.0 + 1.5 * used_[c]));
        };
        offer(Choice::plain, 0.6, d < 0.3);
        offer(Choice::vibrato, 4.0, d >= 0.45);
        offer(Choice::bend, 3.2, d >= 0.32);
        offer(Choice::slide_out, 1.4, d >= 0.3);
        if (!was_joined) {
            offer(Choice::prebend, 1.0, d >= 0.4);
            offer(Choice::trill, 2.2, d >= 0.4);
            offer(Choice::long_slide_in, 1.2, d >= 0.45);
            offer(Choice::slide_in, 2.2, d >= 0.17);
            offer(Choice::staccato, 1.6, d >= 0.14 && d <= 0.7);
            offer(Choice::accent, 0.8, d >= 0.1);
        }
        if (followed(i) && !slots_[i + 1].sweep && slots_[i + 1].length >= Seconds(0.12)) {
            const int interval = std::abs(slots_[i + 1].key.value() - slots_[i].key.value());
            // A string is stretched over eight frets at most, so that a voice can follow.
            const double reach =
                std::abs((Pitch(slots_[i + 1].key) - phrase_.strokes.back().contour.base).value());
            const bool near = reach <= 850.0;
            offer(Choice::slide_to_next, 3.0, d >= 0.18 && near && interval >= 1 && interval <= 5);
            offer(Choice::slur, 2.0, d >= 0.09 && near && interval >= 1 && interval <= 3);
        }
        double total = 0.0;
        for (const auto& [c, weight] : options)
            total += weight;
        double at = dice_.between(0.0, total);
        for (const auto& [c, weight] : options) {
            if ((at -= weight) < 0.0) {
                ++used_[c];
                return c;
            }
        }
        return Choice::plain;
    }

    // Leads the sounding string on to the next slot's note. Returns where this note ends.
    Seconds join(std::size_t i, Choice choice, Inflecting& work) {
        const Slot& next = slots_[i + 1];
        Stroke& stroke = phrase_.strokes.back();
        const Seconds arrival = next.at - stroke.pluck;
        const Cents target = (Pitch(next.key) + fretting_) - stroke.contour.base;
        if (choice == Choice::slide_to_next) {
            work.slide_on(arrival, target);
            joined_ = Joined::slid;
        } else {
            work.slur_on(arrival, target);
            joined_ = Joined::slurred;
        }
        return next.at;
    }

    PhraseSettings settings_;
    Dice dice_;
    Hand hand_;
    Phrase phrase_;
    std::vector<Slot> slots_;
    Joined joined_ = Joined::struck;
    Cents fretting_{0};
    std::map<Choice, int> used_;
};

}  // namespace

Phrase write_phrase(std::uint64_t seed, const PhraseSettings& settings) {
    return Performance(seed, settings).play();
}

}  // namespace bentline::corpus
