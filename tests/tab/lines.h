// Random solo lines for the fingering tests: steps, leaps, repeats, at playable and at wild tempos.
#pragma once

#include <cstddef>
#include <vector>

#include "engine/notes/note.h"
#include "engine/tab/fingering.h"
#include "tests/support/dice.h"

namespace bentline::testing {

inline Note plain_note(int key, double onset, double length) {
    Note note;
    note.onset = Seconds(onset);
    note.offset = Seconds(onset + length);
    note.key = MidiKey(key);
    return note;
}
inline void inflect(Note& note, InflectionKind what) {
    note.inflections.push_back({what, {}, ""});
}

struct LineOptions {
    int lowest = 40;
    int highest = 86;
    double inflected = 0.3;  // share of the notes with an inflection
    bool rings = false;      // some notes sound on into the next ones
};

inline std::vector<Note> random_line(Dice& dice, std::size_t count,
                                     const LineOptions& options = {}) {
    std::vector<Note> notes;
    int key = dice.whole(options.lowest, options.highest);
    double at = 0.0;
    for (std::size_t i = 0; i < count; ++i) {
        const double step = dice.chance(0.1) ? 0.035 : dice.between(0.08, 0.6);
        Note note = plain_note(key, at, 0.9 * step);
        if (options.rings && dice.chance(0.4)) note.offset += Seconds(dice.between(0.0, 1.0));
        if (dice.chance(options.inflected)) {
            switch (dice.whole(0, 6)) {
                case 0:
                    inflect(note, Bend{Cents(dice.whole(1, 4) * 50.0), {}, {}, false, false, {}});
                    break;
                case 1:
                    inflect(note, Vibrato{Hertz(5.5), Cents(30), {}});
                    break;
                case 2:
                    inflect(note, SlideIn{MidiKey(key + (dice.chance(0.7) ? -2 : 3)), {}});
                    break;
                case 3:
                    inflect(note, SlideOut{dice.chance(0.5) ? std::optional(MidiKey(key - 4))
                                                            : std::nullopt,
                                           {}});
                    break;
                case 4:
                    inflect(note, SlideToNext{});
                    break;
                case 5:
                    inflect(note, Trill{dice.chance(0.8) ? dice.whole(1, 2) : -1});
                    break;
                default:
                    inflect(note, Staccato{});
                    break;
            }
        }
        notes.push_back(std::move(note));
        at += step;
        const int leap = dice.chance(0.8) ? dice.whole(-4, 4) : dice.whole(-12, 12);
        key = std::min(options.highest, std::max(options.lowest, key + leap));
    }
    return notes;
}

// Tunings and capos of all kinds.
inline Neck random_neck(Dice& dice) {
    switch (dice.whole(0, 5)) {
        case 0:
            return drop_d_neck();
        case 1:
            return seven_string_neck();
        case 2:
            return eight_string_neck();
        case 3: {
            Neck neck;
            neck.capo = dice.whole(1, 5);
            return neck;
        }
        case 4: {
            Neck neck;
            for (MidiKey& key : neck.open)
                key = MidiKey(key.value() + dice.whole(-3, 3));
            neck.frets = dice.whole(15, 24);
            return neck;
        }
        default:
            return standard_neck();
    }
}

}  // namespace bentline::testing
