// The rhythm section's habits are common practice of small groups (no source).
#include "tests/corpus/accompaniment.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace bentline::corpus {

namespace {

using testing::Dice;

// The scale's degrees as keys at or above `from`: degree 0 is the tonic.
class Harmony {
  public:
    Harmony(int tonic, std::vector<int> scale) : tonic_(tonic), scale_(std::move(scale)) {}
    int key(int degree, int from) const {
        const int size = static_cast<int>(scale_.size());
        const int wrapped = ((degree % size) + size) % size;
        int k = (tonic_ + scale_[static_cast<std::size_t>(wrapped)]) % 12;
        while (k < from)
            k += 12;
        return k;
    }

  private:
    int tonic_;
    std::vector<int> scale_;
};

struct Grid {
    double beat;
    double first;
    int beats;
    double at(double b) const { return first + b * beat; }
};

std::vector<int> choose_chords(Dice& dice, int bars) {
    static constexpr std::array<std::array<int, 4>, 4> turns = {
        {{0, 5, 1, 4}, {1, 4, 0, 0}, {0, 3, 0, 4}, {2, 5, 1, 4}}};
    const auto& turn = turns[static_cast<std::size_t>(dice.whole(0, 3))];
    std::vector<int> chords;
    for (int b = 0; b < bars; ++b)
        chords.push_back(turn[static_cast<std::size_t>(b % 4)]);
    return chords;
}

BandPart comping(const Harmony& h, const Grid& g, const std::vector<int>& chords, Dice& dice) {
    static constexpr int programs[] = {0, 0, 4, 26, 25};
    BandPart part;
    part.program = dice.pick(programs);
    part.place = dice.between(-0.7, 0.7);
    const int floor = dice.whole(50, 55);
    const bool guitar_four = part.program > 20 && dice.chance(0.5);
    for (std::size_t bar = 0; bar < chords.size(); ++bar) {
        std::vector<std::pair<double, double>> hits;  // beat within the bar, beats held
        if (guitar_four)
            hits = {{0, 0.5}, {1, 0.5}, {2, 0.5}, {3, 0.5}};
        else if (dice.chance(0.3))
            hits = {{0, 3.5}};
        else if (dice.chance(0.5))
            hits = {{0, 1.0}, {1.62, 1.0}};
        else
            hits = {{0.62, 0.5}, {2.62, 1.2}};
        std::vector<int> keys = {h.key(chords[bar] + 2, floor), h.key(chords[bar] + 4, floor),
                                 h.key(chords[bar] + 6, floor)};
        if (dice.chance(0.5)) keys.push_back(h.key(chords[bar] + 8, floor));
        for (const auto& [beat, held] : hits) {
            const int velocity = dice.whole(60, 90);
            const double strum = part.program > 20 ? 0.008 : 0.002;
            double late = 0.006 * dice.normal();
            for (int key : keys) {
                part.notes.push_back({Seconds(g.at(4.0 * static_cast<double>(bar) + beat) + late),
                                      Seconds(held * g.beat), key, velocity});
                late += strum * dice.unit();
            }
        }
    }
    return part;
}

BandPart walking_bass(const Harmony& h, const Grid& g, const std::vector<int>& chords, Dice& dice) {
    BandPart part;
    part.program = dice.chance(0.7) ? 32 : 33;
    part.place = dice.between(-0.2, 0.2);
    part.level = Decibels(dice.between(-1.0, 4.0));
    for (int b = 0; b < g.beats; ++b) {
        const int chord = chords[static_cast<std::size_t>(b / 4) % chords.size()];
        static constexpr int steps[] = {2, 4, 1, -1, 6};
        const int degree = b % 4 == 0 ? chord : chord + dice.pick(steps);
        int key = h.key(degree, 31);
        if (b % 4 == 3 && dice.chance(0.4)) {
            key = h.key(chords[(static_cast<std::size_t>(b) / 4 + 1) % chords.size()], 31) +
                  (dice.chance(0.5) ? 1 : -1);
        }
        part.notes.push_back({Seconds(g.at(b) + 0.005 * dice.normal()), Seconds(0.92 * g.beat), key,
                              dice.whole(80, 104)});
    }
    return part;
}

BandPart brushes(const Grid& g, Dice& dice) {
    BandPart part;
    part.program = dice.chance(0.6) ? 40 : 32;  // brush or jazz kit
    part.drums = true;
    part.level = Decibels(dice.between(-6.0, 0.0));
    const double skip = dice.between(0.58, 0.68);
    const auto hit = [&](double beat, int key, int low, int high) {
        part.notes.push_back({Seconds(g.at(beat) + 0.004 * dice.normal()), Seconds(0.1), key,
                              dice.whole(low, high)});
    };
    for (int b = 0; b < g.beats; ++b) {
        hit(b, 51, 60, 85);                         // ride
        if (b % 2 == 1) hit(b + skip, 51, 50, 75);  // and its skip note
        if (b % 2 == 1) hit(b, 44, 60, 80);         // hi-hat by foot
        if (dice.chance(0.35)) hit(b, 38, 30, 70);  // snare
        if (dice.chance(0.2)) hit(b + skip, 38, 30, 80);
        if (b % 4 == 0 || dice.chance(0.1)) hit(b, 36, 40, 75);  // bass drum
    }
    return part;
}

// Answers in the soloist's gaps of a third of a second and more; sometimes a held note under him.
BandPart horn(const Harmony& h, const Phrase& phrase, const Truth& lead, Dice& dice) {
    static constexpr int programs[] = {56, 57, 65, 66,
                                       71};  // trumpet, trombone, saxophones, clarinet
    BandPart part;
    part.program = dice.pick(programs);
    part.place = dice.between(-0.6, 0.6);
    part.level = Decibels(dice.between(-4.0, 2.0));
    const int floor = dice.whole(52, 62);
    int degree = dice.whole(0, 6);
    const auto answer = [&](double from, double to) {
        double t = from;
        while (t < to - 0.08) {
            const double d = std::min(to - t, dice.between(0.12, 0.5));
            part.notes.push_back(
                {Seconds(t), Seconds(0.95 * d), h.key(degree, floor), dice.whole(70, 100)});
            degree += dice.whole(-2, 2);
            t += d;
        }
    };
    Seconds silent_since(0.0);
    for (const Note& n : lead.notes) {
        if (n.onset - silent_since > Seconds(0.33) && dice.chance(0.7)) {
            answer(silent_since.value() + 0.02, n.onset.value() - 0.02);
        } else if (n.offset - n.onset > Seconds(0.7) && dice.chance(0.3)) {
            answer(n.onset.value() + 0.2, n.offset.value());
        }
        silent_since = n.offset;
    }
    if (phrase.length - silent_since > Seconds(0.4) && dice.chance(0.5))
        answer(silent_since.value() + 0.02, phrase.length.value());
    return part;
}

}  // namespace

std::vector<BandPart> write_accompaniment(const Phrase& phrase, const Truth& lead, Dice& dice) {
    const Harmony harmony(phrase.tonic, phrase.scale);
    Grid grid{60.0 / phrase.beats_per_minute, phrase.first_beat.value(), 0};
    grid.beats = static_cast<int>(std::ceil((phrase.length.value() - grid.first) / grid.beat));
    const auto chords = choose_chords(dice, grid.beats / 4 + 1);
    std::vector<BandPart> parts;
    parts.push_back(comping(harmony, grid, chords, dice));
    parts.push_back(walking_bass(harmony, grid, chords, dice));
    parts.push_back(brushes(grid, dice));
    if (dice.chance(0.5)) {
        BandPart h = horn(harmony, phrase, lead, dice);
        if (!h.notes.empty()) parts.push_back(std::move(h));
    }
    return parts;
}

}  // namespace bentline::corpus
