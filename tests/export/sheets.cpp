// Choruses that use every sign.
#include "tests/export/sheets.h"

#include <cmath>

#include "engine/draft/draft.h"
#include "engine/export/draft_sheet.h"
#include "engine/score/write_score.h"
#include "tests/score/performance.h"
#include "tests/support/dice.h"

namespace bentline::testing {

namespace {

std::vector<Note> with_signs(std::vector<Note> notes, double share, Dice& dice) {
    const auto add = [](Note& note, InflectionKind what) {
        note.inflections.push_back({std::move(what), 0.9, ""});
    };
    for (std::size_t i = 0; i < notes.size(); ++i) {
        Note& note = notes[i];
        const Seconds length = note.offset - note.onset;
        note.level =
            Decibels(-20.0 + 8.0 * std::sin(0.23 * static_cast<double>(i)) + dice.normal());
        if (!dice.chance(share)) continue;
        const MidiKey below(note.key.value() - dice.whole(1, 3));
        switch (dice.whole(0, 9)) {
            case 0:
                add(note,
                    Bend{Cents(50.0 * dice.whole(1, 5)), {}, {}, dice.chance(0.3), false, {}});
                break;
            case 1:
                add(note,
                    Bend{Cents(100.0 * dice.whole(1, 2)), {}, {}, dice.chance(0.5), true, {}});
                break;
            case 2:
                add(note, SlideIn{below, {}});
                break;
            case 3:
                add(note, SlideIn{});
                break;
            case 4:
                add(note, SlideOut{dice.chance(0.5) ? std::optional(below) : std::nullopt, {}});
                break;
            case 5:
                if (i + 1 < notes.size() && notes[i + 1].key != note.key) add(note, SlideToNext{});
                break;
            case 6:
            case 7:
                if (length > Seconds(0.3))
                    add(note,
                        Vibrato{
                            Hertz(dice.between(4.5, 7.0)), Cents(dice.between(12.0, 60.0)), {}});
                break;
            case 8:
                add(note, Trill{dice.whole(1, 2)});
                break;
            default:
                add(note, Accent{});
                break;
        }
    }
    return notes;
}

const char* const changes[] = {"Eb6",          "C7b9",   "Fm7",      "Bb7 Bb7#5",
                               "Ebmaj7 Gm7b5", "Ab7#11", "G7alt C7", "F#m7b5/A",
                               "D7",           "N.C.",   "Abmaj7",   "Gm7 C7 Fm7 Bb13"};

}  // namespace

EngravedDraft chorus(const SheetMix& mix) {
    Dice dice(mix.seed * 77 + 5);
    PerformanceSettings performing;
    performing.seed = mix.seed;
    performing.bars = mix.bars;
    performing.metre = mix.metre;
    performing.tempo = mix.metre.compound() ? 92.0 : 120.0;
    performing.loose = mix.loose;
    performing.sextuplets = mix.seed % 3 == 0;
    const Performance performance = perform(performing);
    Draft draft;
    draft.title = "A Lantern for Marit";
    draft.players = "Quartet of Sund, guitar Ole Brekke";
    draft.bars = performance.bars;
    draft.key = mix.key;
    if (mix.bars % 8 == 0 && mix.bars >= 32) draft.form = parse_form("AABA").value();
    if (!draft.form.empty() && mix.seed % 3 == 0)
        draft.form[2].key = Key{(mix.key.fifths + 12) % 9 - 4, mix.key.minor};
    for (int i = 0; mix.chords && i < mix.bars; ++i)
        draft.chords.emplace_back(dice.pick(changes));
    draft.neck = mix.strings == 8   ? eight_string_neck()
                 : mix.strings == 7 ? seven_string_neck()
                                    : standard_neck();
    draft = pencil(std::move(draft), with_signs(performance.played, mix.signs, dice)).value();
    EngravedDraft result{write_score(draft, WhichNotes::inked_and_pencilled).value(), {}};
    result.tab = tab_plan(finger_draft(draft, WhichNotes::inked_and_pencilled).value());
    return result;
}

SheetMix spread_of_choruses(std::uint64_t i) {
    SheetMix mix;
    mix.seed = i + 1;
    mix.bars = i % 10 == 9 ? 12 : i % 25 == 24 ? 64 : 32;
    mix.metre = i % 7 == 3 ? Metre{3, 4} : i % 9 == 5 ? Metre{12, 8} : Metre{4, 4};
    mix.key = Key{static_cast<int>(i % 13) - 6, i % 2 == 1};
    mix.signs = i % 4 == 0 ? 0.1 : i % 4 == 1 ? 0.35 : i % 4 == 2 ? 0.7 : 1.0;
    mix.strings = i % 11 == 6 ? 7 : i % 11 == 8 ? 8 : 6;
    mix.chords = i % 5 != 4;
    mix.loose = i % 3 == 0;
    return mix;
}

}  // namespace bentline::testing
