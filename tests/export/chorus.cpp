// A spread of performances, made a player's by dice.
#include "tests/export/chorus.h"

#include <algorithm>

#include "engine/draft/edit.h"
#include "tests/score/performance.h"
#include "tests/support/dice.h"

namespace bentline::testing {
namespace {

Note inflected(Note note, Dice& dice, bool last) {
    const auto add = [&](InflectionKind what) { note.inflections.push_back({what, 0.9, ""}); };
    const int key = note.key.value();
    const double long_enough = (note.offset - note.onset).value();
    switch (dice.whole(0, 15)) {
        case 0:
            add(Bend{Cents(50.0 * dice.whole(1, 4) + dice.between(-15.0, 15.0)),
                     {},
                     {},
                     dice.chance(0.3),
                     dice.chance(0.2),
                     {}});
            break;
        case 1:
            if (long_enough > 0.4) add(Vibrato{Hertz(5.5), Cents(dice.between(15.0, 60.0)), {}});
            break;
        case 2:
            add(SlideIn{dice.chance(0.7) ? std::optional(MidiKey(key + (dice.chance(0.7) ? -2 : 1)))
                                         : std::nullopt,
                        {}});
            break;
        case 3:
            add(SlideOut{dice.chance(0.5)
                             ? std::optional(MidiKey(key + (dice.chance(0.8) ? -4 : 3)))
                             : std::nullopt,
                         {}});
            break;
        case 4:
            if (!last) add(SlideToNext{});
            break;
        case 5:
            if (long_enough > 0.3) add(Trill{dice.whole(1, 2)});
            break;
        case 6:
            add(Accent{});
            break;
        default:
            break;
    }
    return note;
}

Neck guitar(Dice& dice) {
    switch (dice.whole(0, 5)) {
        case 0:
            return drop_d_neck();
        case 1:
            return seven_string_neck();
        case 2: {
            Neck neck;
            neck.capo = dice.whole(1, 3);
            return neck;
        }
        default:
            return standard_neck();
    }
}

}  // namespace

Draft all_inked(const Draft& draft) {
    std::vector<NoteId> ids;
    for (const DraftNote& n : draft.notes)
        ids.push_back(n.id);
    return apply(draft, Ink{ids}).value();
}

Draft made_chorus(int index, int count) {
    const auto spread = spread_of_performances(6, count);
    const PerformanceSettings& settings = spread[static_cast<std::size_t>(index)];
    Performance performance = perform(settings);
    Dice dice(settings.seed + 77);
    double level = -20.0;
    for (std::size_t i = 0; i < performance.played.size(); ++i) {
        Note& note = performance.played[i];
        level = std::clamp(level + dice.between(-3.0, 3.0), -34.0, -6.0);
        note.level = Decibels(level);
        note.cents = Cents(dice.between(-12.0, 12.0));
        note = inflected(std::move(note), dice, i + 1 == performance.played.size());
    }
    static const char* const chords[] = {"Eb6",   "C7b9", "Fm7",    "Bb7",     "Ebmaj7/G", "Am7b5",
                                         "D7#9",  "Gm7",  "C7alt",  "Fm7 Bb7", "N.C.",     "Xq?",
                                         "Bdim7", "Gm6",  "G7sus4", "F#13",    "Caug",     "Db6/9"};
    Draft draft;
    draft.title = "Harbour Lights Out " + std::to_string(index);
    draft.players = "The Quay Street Five";
    draft.bars = performance.bars;
    draft.neck = guitar(dice);
    if (dice.chance(0.8)) draft.key = Key{dice.whole(-6, 6), dice.chance(0.4)};
    draft.form = parse_form(dice.chance(0.5) ? "A4B4" : "A4A4B4A4").value();
    if (draft.key && index % 4 == 1) {
        for (Section& s : draft.form) {
            if (s.letter == "B") s.key = Key{(draft.key->fifths + 14) % 7 - 3, draft.key->minor};
        }
    }
    for (int bar = 0; bar < 16; ++bar)
        draft.chords.emplace_back(dice.pick(chords));
    return all_inked(pencil(std::move(draft), performance.played).value());
}

}  // namespace bentline::testing
