// The patterns are common practice of dance and Latin bands (no source).
#include "tests/corpus/other_band.h"

#include <algorithm>
#include <cmath>

namespace bentline::corpus {

namespace {

using testing::Dice;

// General MIDI from 0.
constexpr int comping_programs[] = {4, 5, 7, 11, 16, 17, 18, 21, 24, 48};
constexpr int bass_programs[] = {33, 34, 34, 35, 36, 37, 39};
constexpr int answering_programs[] = {11, 21, 22, 40, 59, 64, 68, 73};

bool holds(int program) {
    return (program >= 16 && program <= 21) || program >= 48;
}

// Held chords: of each bar's hits only the first, until the next bar.
void hold_chords(BandPart& part, const Phrase& phrase) {
    const double bar = 4.0 * 60.0 / phrase.beats_per_minute;
    const auto bar_of = [&](const BandNote& n) {
        return std::floor((n.at - phrase.first_beat).value() / bar + 0.1);
    };
    std::vector<BandNote> held;
    double first_hit = 0.0;
    double in_bar = -1e9;
    for (BandNote n : part.notes) {
        if (bar_of(n) > in_bar) {
            in_bar = bar_of(n);
            first_hit = n.at.value();
        }
        if (n.at.value() - first_hit > 0.06) continue;
        const double next = phrase.first_beat.value() + (in_bar + 1.0) * bar;
        n.length = Seconds(std::max(0.1, next - n.at.value() - 0.04));
        held.push_back(n);
    }
    part.notes = std::move(held);
}

// Hands on congas, a clave and a shaker; or bass drum, snare and closed hi-hat.
BandPart drums_of(const Phrase& phrase, bool hands, Dice& dice) {
    BandPart part;
    part.program = hands ? 0 : dice.chance(0.5) ? 0 : 25;
    part.drums = true;
    part.level = Decibels(dice.between(-5.0, 2.0));
    const double beat = 60.0 / phrase.beats_per_minute;
    const auto hit = [&](double at, int key, int low, int high) {
        const double t = phrase.first_beat.value() + at * beat + 0.003 * dice.normal();
        if (t >= 0.0 && t < phrase.length.value())
            part.notes.push_back({Seconds(t), Seconds(0.1), key, dice.whole(low, high)});
    };
    const int beats = static_cast<int>(phrase.length.value() / beat) + 1;
    for (int b = 0; b < beats; ++b) {
        for (int half = 0; half < 2; ++half) {
            const double at = b + 0.5 * half;
            if (hands) {
                static constexpr int tumbao[8] = {62, 62, 63, 62, 62, 62, 64, 64};
                hit(at, tumbao[(2 * b + half) % 8], 60, 95);
                hit(at, 69, 40, 65);
            } else {
                hit(at, 42, 50, 80);
            }
        }
        if (hands) {
            // The three-two clave over two bars.
            const int in_two = b % 8;
            if (in_two == 0 || in_two == 3) hit(b, 75, 70, 90);
            if (in_two == 1) hit(b + 0.5, 75, 70, 90);
            if (in_two == 5 || in_two == 6) hit(b, 75, 70, 90);
        } else {
            if (b % 2 == 0) hit(b, 36, 80, 105);
            if (b % 2 == 1) hit(b, 38, 75, 105);
            if (dice.chance(0.3)) hit(b + 0.5, 36, 70, 95);
        }
    }
    return part;
}

}  // namespace

std::vector<BandPart> write_other_band(const Phrase& phrase, const Truth& lead, Dice& dice) {
    // Comping, bass, drums and, if there is one, the answering voice.
    std::vector<BandPart> parts = write_accompaniment(phrase, lead, dice);
    parts[0].program = dice.pick(comping_programs);
    if (holds(parts[0].program)) hold_chords(parts[0], phrase);
    parts[0].level = Decibels(dice.between(-4.0, 2.0));
    parts[1].program = dice.pick(bass_programs);
    const double kind = dice.unit();
    if (kind < 0.7) parts[2] = drums_of(phrase, kind < 0.3, dice);
    if (parts.size() > 3) parts[3].program = dice.pick(answering_programs);
    return parts;
}

}  // namespace bentline::corpus
