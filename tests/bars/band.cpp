// The habits of rhythm sections are common practice (no source).
#include "tests/bars/band.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "tests/corpus/accompaniment.h"
#include "tests/support/dice.h"

namespace bentline::testing {
namespace {

using corpus::BandPart;

constexpr SampleRate rate{22050};  // enough for cymbals to be heard as such, and quick
constexpr int ride = 51, foot_hat = 44, closed_hat = 42, snare = 38, rim = 37, kick = 36,
              shaker = 82;

struct Feeling {
    Metre metre;
    double slowest, fastest;
};
Feeling feeling_of(Feel feel) {
    switch (feel) {
        case Feel::swing:
            return {{4, 4}, 100, 270};
        case Feel::ballad:
            return {{4, 4}, 52, 84};
        case Feel::even_eighths:
            return {{4, 4}, 110, 170};
        case Feel::backbeat:
            return {{4, 4}, 76, 150};
        case Feel::waltz:
            return {{3, 4}, 90, 200};
        case Feel::shuffle_in_twelve:
            return {{12, 8}, 50, 90};
        case Feel::two_beat:
            return {{4, 4}, 130, 240};
        case Feel::four_to_the_bar:
            return {{4, 4}, 110, 260};
        case Feel::shuffle:
            return {{4, 4}, 90, 160};
        default:
            return {{6, 8}, 46, 80};
    }
}

// Plays into parts at places counted in beats.
class Player {
  public:
    Player(const std::vector<Seconds>& grid, Dice& dice) : grid_(grid), dice_(dice) {}
    int beats() const { return static_cast<int>(grid_.size()) - 1; }
    double at(double beat) const {
        const auto i = static_cast<std::size_t>(
            std::clamp(std::floor(beat), 0.0, static_cast<double>(grid_.size()) - 2.0));
        return (grid_[i] + (grid_[i + 1] - grid_[i]) * (beat - static_cast<double>(i))).value();
    }
    // Only the count-in is played before the band enters.
    void enter_at(int beat) { entry_ = beat; }
    void hit(BandPart& part, double beat, double length, int key, int low, int high,
             double unsteady = 0.005) {
        if (beat < entry_ || beat >= beats()) return;
        const double t = std::max(0.0, at(beat) + unsteady * dice_.normal());
        part.notes.push_back(
            {Seconds(t), Seconds((at(beat + length) - at(beat))), key, dice_.whole(low, high)});
    }

  private:
    const std::vector<Seconds>& grid_;
    Dice& dice_;
    int entry_ = 0;
};

struct Tune {
    Feel feel;
    int per_bar;
    double off;                              // where the off-beat lies in a beat
    std::vector<std::array<int, 4>> chords;  // a bar each, keys from C3 up
    int tonic = 0;
};

Tune write_tune(Feel feel, int per_bar, double off, int bars, Dice& dice) {
    const int tonic = dice.whole(0, 11);
    Tune tune{feel, per_bar, off, {}, tonic};
    // Diatonic sevenths: II V I I, VI II V I, I IV I V.
    static constexpr int turns[3][4] = {{1, 4, 0, 0}, {5, 1, 4, 0}, {0, 3, 0, 4}};
    static constexpr int scale[] = {0, 2, 4, 5, 7, 9, 11};
    const auto& turn = turns[dice.whole(0, 2)];
    for (int bar = 0; bar < bars; ++bar) {
        if (bar % 4 != 0 && dice.chance(0.15)) {  // the chord stays
            tune.chords.push_back(tune.chords.back());
            continue;
        }
        std::array<int, 4> chord{};
        for (int k = 0; k < 4; ++k) {
            const int degree = turn[bar % 4] + 2 * k;
            chord[static_cast<std::size_t>(k)] = 48 + tonic + scale[degree % 7] + 12 * (degree / 7);
        }
        tune.chords.push_back(chord);
    }
    return tune;
}

int bass_key(int key) {
    while (key > 43)
        key -= 12;
    return key;
}

BandPart play_bass(const Tune& tune, Player& p, Dice& dice) {
    BandPart part{dice.chance(0.7) ? 32 : 33, false, 0.0, Decibels(dice.between(-2.0, 4.0)), {}};
    for (int b = 0; b < p.beats(); ++b) {
        const int bar = b / tune.per_bar;
        const int in_bar = b % tune.per_bar;
        const auto& chord = tune.chords[static_cast<std::size_t>(bar)];
        const int root = bass_key(chord[0]);
        const int other = bass_key(chord[static_cast<std::size_t>(dice.whole(1, 3))]);
        switch (tune.feel) {
            case Feel::two_beat:
            case Feel::four_to_the_bar:
            case Feel::ballad:  // in two, now and then a pickup
                if (in_bar % 2 == 0) p.hit(part, b, 1.8, in_bar == 0 ? root : other, 75, 100);
                if (in_bar == 3 && dice.chance(0.3)) p.hit(part, b + tune.off, 0.3, other, 60, 80);
                break;
            case Feel::even_eighths:  // one, two-and, three, four-and
                if (in_bar % 2 == 0) p.hit(part, b, 1.4, in_bar == 0 ? root : other, 80, 100);
                if (in_bar % 2 == 1) p.hit(part, b + 0.5, 0.45, in_bar == 1 ? other : root, 70, 95);
                break;
            case Feel::backbeat:
                if (in_bar == 0 || in_bar == 2) p.hit(part, b, 0.9, root, 85, 105);
                if (dice.chance(0.4))
                    p.hit(part, b + 0.5, 0.4, dice.chance(0.5) ? root : other, 70, 95);
                break;
            case Feel::waltz:
                if (in_bar == 0 || dice.chance(0.6))
                    p.hit(part, b, 0.9, in_bar == 0 ? root : other, 75, 100);
                break;
            case Feel::six_eight:
                p.hit(part, b, 0.9, in_bar == 0 ? root : other, 80, 100);
                if (dice.chance(0.5)) p.hit(part, b + 2.0 / 3, 0.3, other, 65, 85);
                break;
            default:
                p.hit(part, b, 0.9, in_bar == 0 ? root : other, 80, 104);
                if (dice.chance(0.1)) p.hit(part, b + tune.off, 0.3, other, 60, 80);
        }
    }
    return part;
}

BandPart play_drums(const Tune& tune, Player& p, Dice& dice) {
    BandPart part{dice.chance(0.5) ? 0 : 32, true, 0.0, Decibels(dice.between(-6.0, 1.0)), {}};
    const bool busy = dice.chance(0.5);
    for (int b = 0; b < p.beats(); ++b) {
        const int in_bar = b % tune.per_bar;
        const bool back = in_bar % 2 == 1;
        switch (tune.feel) {
            case Feel::swing:
                p.hit(part, b, 0.2, ride, 65, 90);
                if (back) p.hit(part, b + tune.off, 0.2, ride, 50, 75);
                if (back) p.hit(part, b, 0.2, foot_hat, 60, 85);
                if (busy && dice.chance(0.25)) p.hit(part, b + tune.off, 0.2, snare, 35, 75);
                if (dice.chance(in_bar == 0 ? 0.5 : 0.1)) p.hit(part, b, 0.2, kick, 50, 85);
                break;
            case Feel::four_to_the_bar:
                break;
            case Feel::two_beat:
                if (!back || busy) p.hit(part, b, 0.2, ride, 60, 85);
                if (back) p.hit(part, b, 0.2, foot_hat, 60, 90);
                if (back && busy) p.hit(part, b + tune.off, 0.2, ride, 50, 75);
                if (!back && dice.chance(0.3)) p.hit(part, b, 0.2, kick, 50, 80);
                break;
            case Feel::shuffle:
                for (const double o : {0.0, tune.off})
                    p.hit(part, b + o, 0.2, closed_hat, o == 0.0 ? 60 : 45, o == 0.0 ? 85 : 70);
                if (back) p.hit(part, b, 0.2, snare, 80, 105);
                if (!back || busy) p.hit(part, b, 0.2, kick, 70, 100);
                break;
            case Feel::ballad:
                p.hit(part, b, 0.2, snare, 20, 40);  // brushes' sweep
                if (back) p.hit(part, b, 0.2, foot_hat, 50, 75);
                if (dice.chance(0.3)) p.hit(part, b + tune.off, 0.2, ride, 30, 55);
                break;
            case Feel::even_eighths:
                for (const double o : {0.0, 0.5})
                    p.hit(part, b + o, 0.2, shaker, o == 0.0 ? 60 : 40, o == 0.0 ? 80 : 60);
                if (in_bar == 0 || in_bar == 2) p.hit(part, b, 0.2, kick, 65, 90);
                if (in_bar == 1 || in_bar == 3) p.hit(part, b + 0.5, 0.2, kick, 40, 65);
                if ((in_bar == 0) || (in_bar == 1 && busy) || in_bar == 3)
                    p.hit(part, b + (in_bar == 1 ? 0.5 : 0.0), 0.2, rim, 60, 85);
                break;
            case Feel::backbeat:
                for (const double o : {0.0, 0.5})
                    p.hit(part, b + o, 0.2, closed_hat, 50, 80);
                if (back) p.hit(part, b, 0.2, snare, 80, 105);
                if (!back) p.hit(part, b, 0.2, kick, 80, 105);
                if (busy && dice.chance(0.3)) p.hit(part, b + 0.5, 0.2, kick, 60, 85);
                break;
            case Feel::waltz:
                p.hit(part, b, 0.2, ride, 60, 85);
                if (in_bar == 1 && dice.chance(0.7)) p.hit(part, b + tune.off, 0.2, ride, 50, 75);
                if (in_bar != 0) p.hit(part, b, 0.2, foot_hat, 50, 80);
                if (in_bar == 0) p.hit(part, b, 0.2, kick, 60, 90);
                break;
            default:  // in threes
                for (int k = 0; k < 3; ++k)
                    p.hit(part, b + k / 3.0, 0.2, tune.per_bar == 2 ? closed_hat : ride,
                          k == 0 ? 65 : 45, k == 0 ? 90 : 70);
                if (tune.per_bar == 4 ? back : in_bar == 1) p.hit(part, b, 0.2, snare, 75, 100);
                if (in_bar == 0 || (tune.per_bar == 4 && in_bar == 2))
                    p.hit(part, b, 0.2, kick, 70, 100);
        }
    }
    return part;
}

// The brush kit of General MIDI's level 2: a sweep over each beat, a tap on the off-beat now and
// then, the foot on two and four (common practice, no source).
BandPart play_brushes(const Tune& tune, Player& p, Dice& dice) {
    constexpr int brush_tap = 38, brush_swirl = 40;
    BandPart part{40, true, 0.0, Decibels(dice.between(-8.0, -3.0)), {}};
    for (int b = 0; b < p.beats(); ++b) {
        const bool back = b % tune.per_bar % 2 == 1;
        p.hit(part, b, 0.8, brush_swirl, 40, 60, 0.015);
        if (back) p.hit(part, b, 0.2, foot_hat, 45, 70);
        if (back && dice.chance(0.6)) p.hit(part, b, 0.2, brush_tap, 40, 60);
        if (dice.chance(0.3)) p.hit(part, b + tune.off, 0.2, brush_tap, 25, 45);
    }
    return part;
}

// Four bars in which only the drummer plays, and what he likes: eighths and triplets over snare and
// toms, mostly on the beats.
void play_break(std::vector<BandPart>& parts, const Tune& tune, Player& p, Dice& dice) {
    static constexpr int skins[] = {38, 45, 47, 50, 38};
    const int first = p.beats() / tune.per_bar / 2 * tune.per_bar;
    const int last = std::min(p.beats() - 1, first + 4 * tune.per_bar);
    for (BandPart& part : parts) {
        std::erase_if(part.notes, [&](const auto& n) {
            return n.at.value() > p.at(first) - 0.05 && n.at.value() < p.at(last) - 0.05;
        });
        if (!part.drums || part.level < Decibels(-10.0)) continue;
        for (int b = first; b < last; ++b) {
            const bool run = dice.chance(0.3);
            if (dice.chance(0.8)) p.hit(part, b, 0.2, dice.pick(skins), 70, 105);
            if (run || dice.chance(0.6))
                p.hit(part, b + (run ? 2.0 / 3.0 : tune.off), 0.2, dice.pick(skins), 55, 95);
            if (run) p.hit(part, b + 1.0 / 3.0, 0.2, dice.pick(skins), 55, 90);
            if (b % tune.per_bar % 2 == 1) p.hit(part, b, 0.2, foot_hat, 50, 80);
        }
    }
}

BandPart play_chords(const Tune& tune, Player& p, Dice& dice) {
    static constexpr int programs[] = {0, 4, 26};
    BandPart part{dice.pick(programs), false, 0.0, Decibels(dice.between(-4.0, 1.0)), {}};
    const auto strike = [&](double beat, double length, const std::array<int, 4>& chord) {
        for (const int key : chord)
            p.hit(part, beat, length, key, 50, 85, 0.007);
    };
    for (int b = 0; b < p.beats(); b += tune.per_bar) {
        const auto& chord = tune.chords[static_cast<std::size_t>(b / tune.per_bar)];
        if (tune.feel == Feel::four_to_the_bar) {
            for (int k = 0; k < tune.per_bar; ++k)
                strike(b + k, k % 2 == 0 ? 0.6 : 0.35, chord);
        } else if (tune.feel == Feel::ballad || dice.chance(0.3)) {
            strike(b, tune.per_bar * 0.9, chord);
        } else if (dice.chance(0.5)) {
            strike(b, 0.8, chord);
            strike(b + 1 + tune.off, 0.6, chord);
        } else {
            strike(b + tune.off, 0.6, chord);
            if (tune.per_bar > 2) strike(b + 2 + tune.off, 0.4, chord);
        }
    }
    return part;
}

// A soloist in eighths and held notes, behind the beat, in phrases with rests.
BandPart play_solo(const Tune& tune, Player& p, Dice& dice) {
    static constexpr int programs[] = {26, 27, 65, 56};
    BandPart part{dice.pick(programs), false, 0.0, Decibels(dice.between(-2.0, 4.0)), {}};
    int degree = dice.whole(0, 6);
    const bool triplets = tune.feel == Feel::shuffle_in_twelve || tune.feel == Feel::six_eight;
    for (double b = 0; b < p.beats();) {
        if (dice.chance(0.12)) {
            b = std::floor(b) + dice.whole(1, 4);
            continue;
        }
        const auto& chord = tune.chords[std::min(tune.chords.size() - 1,
                                                 static_cast<std::size_t>(b / tune.per_bar))];
        degree = std::clamp(degree + dice.whole(-2, 2), 0, 9);
        const int key = chord[static_cast<std::size_t>(degree % 4)] + 12 * (1 + degree / 4 % 2) +
                        (dice.chance(0.3) ? 2 : 0);
        const double whole = std::floor(b + 1e-9);
        double next = whole + 1;
        if (triplets) {
            next = std::floor(b * 3 + 1.001) / 3.0;
        } else if (b - whole < 1e-6 && dice.chance(0.75)) {
            next = whole + tune.off;
        }
        if (dice.chance(0.15)) next += 1;
        p.hit(part, b, 0.9 * (next - b), key, 65, 105, 0.010);
        b = next;
    }
    for (auto& n : part.notes)
        n.at += Seconds(0.012);  // laid back
    return part;
}

}  // namespace

const char* name_of(Feel feel) {
    static constexpr std::array<const char*, feels> names = {
        "swing", "ballad", "even eighths", "backbeat",        "waltz",
        "12/8",  "6/8",    "two beat",     "four to the bar", "shuffle"};
    return names.at(static_cast<std::size_t>(feel));
}

Result<Band> play_band(const BandSettings& settings) {
    Dice dice(settings.seed * 7919 + static_cast<std::uint64_t>(settings.feel) * 104729);
    const Feeling feeling = feeling_of(settings.feel);
    const double drawn_tempo = dice.between(feeling.slowest, feeling.fastest);
    const double tempo = settings.tempo.value_or(Tempo(drawn_tempo)).value();
    Band band;
    band.metre = feeling.metre;
    band.tempo = Tempo(tempo);
    // Swing is wider when slow (Friberg & Sundström 2002).
    const bool swings = settings.feel != Feel::even_eighths && settings.feel != Feel::backbeat &&
                        !feeling.metre.compound();
    band.swing =
        swings ? std::clamp(dice.between(1.4, 2.6) - std::max(0.0, (tempo - 160) / 120), 1.1, 2.6)
               : 1.0;
    if (swings && settings.swing) band.swing = *settings.swing;
    const double off = band.swing / (1.0 + band.swing);

    const double period = dice.between(15.0, 35.0);
    const double phase = dice.between(0.0, 6.28);
    std::vector<Seconds> grid;
    double t = dice.between(0.1, 1.2);
    while (t < settings.length.value()) {
        grid.push_back(Seconds(t));
        t += 60.0 /
             (tempo * (1.0 + settings.drift * std::sin(2 * std::numbers::pi * t / period + phase)));
    }
    const int per_bar = band.metre.beats_per_bar();
    const auto last = static_cast<int>(grid.size()) - 1;
    band.beats.assign(grid.begin(), grid.end() - 1);
    Player player(grid, dice);
    BandPart sticks{0, true, 0.0, Decibels(-18.0), {}};  // sparse, so quiet as a whole
    if (dice.chance(0.4)) {
        band.count_in_beats = per_bar * (per_bar > 2 && tempo < 150 ? 1 : 2);
        for (int b = 0; b < band.count_in_beats; ++b)
            player.hit(sticks, b, 0.2, rim, 80, 100);
        player.enter_at(band.count_in_beats);
    }
    for (int b = band.count_in_beats; b < last; b += per_bar)
        band.downbeats.push_back(grid[static_cast<std::size_t>(b)]);
    const Tune tune = write_tune(settings.feel, per_bar, off, last / per_bar + 2, dice);
    std::vector<BandPart> parts;
    if (band.count_in_beats > 0) parts.push_back(sticks);
    parts.push_back(play_bass(tune, player, dice));
    parts.push_back(play_drums(tune, player, dice));
    parts.push_back(play_chords(tune, player, dice));
    band.tonic = tune.tonic;
    parts.push_back(play_solo(tune, player, dice));
    if (settings.soloist) parts.back().notes = settings.soloist(band);
    if (settings.drums != Drums::usual) {
        Dice own(settings.seed * 31 + 5);  // so that the others play as they would
        const bool kept = settings.drums == Drums::breaks;
        if (!kept)
            std::erase_if(parts, [](const BandPart& p) {
                return p.drums && p.level > Decibels(-10.0);  // the count-in stays
            });
        if (settings.drums == Drums::brushes) parts.push_back(play_brushes(tune, player, own));
        if (kept) play_break(parts, tune, player, own);
    }
    if (settings.drums_alone) std::erase_if(parts, [](const BandPart& p) { return !p.drums; });
    for (BandPart& part : parts) {
        std::stable_sort(part.notes.begin(), part.notes.end(),
                         [](const auto& a, const auto& b) { return a.at < b.at; });
    }
    const char* font = dice.chance(0.5) ? "/usr/share/sounds/sf2/FluidR3_GM.sf2"
                                        : "/usr/share/sounds/sf2/TimGM6mb.sf2";
    auto sound = corpus::play_parts(parts, font, settings.length, rate);
    if (!sound) return sound.failure();
    band.name = std::string(name_of(settings.feel)) + " " +
                std::to_string(static_cast<int>(tempo)) + " #" + std::to_string(settings.seed);
    band.audio = Audio{rate, Frames(0), {std::move(sound->left), std::move(sound->right)}};
    return band;
}

}  // namespace bentline::testing
