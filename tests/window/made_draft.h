// A draft of our own making for the window's tests: 32 bars AABA in E flat at 120, notes on every
// beat, every kind of inflection, and a pitch line that follows them.
#pragma once

#include <cmath>
#include <memory>
#include <numbers>
#include <string>
#include <vector>

#include "engine/draft/draft.h"
#include "engine/draft/draft_file.h"
#include "ui/window/state.h"

namespace bentline::window {

inline constexpr int made_bars = 32;
inline constexpr Seconds made_bar_one{1.0};

// Four notes a bar, each 0.4 s long, in a pattern of the scale; confidence 0.9, every tenth 0.5.
inline std::vector<Note> made_notes(int bars = made_bars) {
    constexpr int scale[] = {63, 65, 67, 70, 72, 70, 67, 65, 63, 60, 58, 62};
    std::vector<Note> notes;
    for (int i = 0; i < 4 * bars; ++i) {
        Note n;
        n.onset = made_bar_one + Seconds(0.5 * i);
        n.offset = n.onset + Seconds(0.4);
        n.key = MidiKey(scale[i % 12]);
        n.cents = Cents(i % 7 - 3);
        n.level = Decibels(-14.0 - i % 5);
        n.confidence = i % 10 == 9 ? 0.5 : 0.9;
        n.reason = "struck: the level rose 9 dB in 12 ms";
        const auto add = [&n](InflectionKind what, const char* reason) {
            n.inflections.push_back({std::move(what), 0.8, reason});
        };
        switch (i % 16) {
            case 1:
                add(SlideIn{MidiKey(n.key.value() - 2),
                            SecondsRange{n.onset, n.onset + Seconds(0.09)}},
                    "climbed two frets in 90 ms");
                break;
            case 3:
                add(Bend{Cents(98),
                         n.onset + Seconds(0.08),
                         n.onset + Seconds(0.2),
                         false,
                         false,
                         {}},
                    "rose 98 c in 0.12 s, then held");
                break;
            case 4:
                add(Vibrato{Hertz(5.6), Cents(34), SecondsRange{n.onset + Seconds(0.1), n.offset}},
                    "swings 5.6 times a second");
                break;
            case 6:
                add(SlideToNext{}, "the next note is not struck");
                break;
            case 8:
                add(Trill{2}, "two pitches in turn");
                break;
            case 10:
                add(Staccato{}, "damped early");
                break;
            case 11:
                add(Bend{Cents(52), n.onset + Seconds(0.05), n.onset + Seconds(0.15), true, false,
                         SecondsRange{n.onset + Seconds(0.25), n.onset + Seconds(0.35)}},
                    "rose 52 c and came back");
                break;
            case 12:
                add(Accent{}, "6 dB over its neighbours");
                break;
            case 14:
                add(Bend{Cents(204), n.onset, n.onset, false, true, {}}, "sounds 204 c up at once");
                break;
            case 15:
                add(SlideOut{MidiKey(n.key.value() - 3),
                             SecondsRange{n.offset - Seconds(0.08), n.offset}},
                    "falls away");
                break;
            default:
                break;
        }
        notes.push_back(std::move(n));
    }
    return notes;
}

inline Draft made_draft(int bars = made_bars) {
    Draft draft;
    draft.title = "Lantern Street";
    draft.bars = BarMap::constant(Tempo(120), made_bar_one).value();
    draft.key = Key{-3, false};
    draft.form = parse_form("AABA").value();
    for (int b = 0; b < 32; ++b) {
        constexpr const char* chords[] = {"Eb6",    "C7",      "Fm7",    "Bb7",
                                          "Gm7 C7", "Fm7 Bb7", "Ebmaj7", "F#m7b5"};
        draft.chords.emplace_back(chords[b % 8]);
    }
    return pencil(std::move(draft), made_notes(bars)).value();
}

// The line that the notes would have given, 5 ms a point.
inline PitchCurve made_line(const std::vector<Note>& notes, Seconds length) {
    PitchCurve line;
    line.points.resize(static_cast<std::size_t>(length / line.hop));
    for (const Note& n : notes) {
        const auto first = static_cast<std::size_t>(n.onset / line.hop);
        const auto last =
            std::min(line.points.size(), static_cast<std::size_t>(n.offset / line.hop));
        for (std::size_t i = first; i < last; ++i) {
            const double t = (line.time_of(i) - n.onset).value();
            double cents = 0;
            if (const Bend* b = find<Bend>(n))
                cents = b->prebend ? b->size.value() : b->size.value() * std::min(1.0, t / 0.2);
            if (const Vibrato* v = find<Vibrato>(n))
                cents = v->depth.value() * std::sin(2 * std::numbers::pi * v->rate.value() * t);
            line.points[i] = {
                frequency(Pitch(n.key) + Cents(cents)), 0.9, Decibels(-14 - 30 * t), {}};
        }
    }
    return line;
}

// A state as it is when everything has been read and followed.
inline State made_state(int bars = made_bars) {
    State s;
    s.open = true;
    s.draft = made_draft(bars);
    s.heard.info = RecordingInfo{"lantern_street.flac",
                                 "FLAC, 16 bit",
                                 SampleRate(44100),
                                 2,
                                 2,
                                 Frames(44100 * (2 * bars + 2)),
                                 ""};
    s.heard.line =
        std::make_shared<const PitchCurve>(made_line(made_notes(bars), s.heard.info->duration()));
    s.heard.loudest = Decibels(-14);
    s.heard.stage = std::make_shared<const StageProfile>(
        StageProfile{{0.1F, 0.2F, 0.6F, 1.0F, 0.5F, 0.2F, 0.1F}});
    s.look = {made_bar_one - Seconds(0.2), made_bar_one + Seconds(8.2)};
    s.rows = {54, 77};
    return s;
}

// A stretch measured by hand, with all that can be said of one.
inline Measured made_measure() {
    return {{Seconds(3), Seconds(4)},
            Pitch(63.1),
            Pitch(64.2),
            Cents(110),
            Cents(120),
            Hertz(5.5),
            Cents(31)};
}

// A folder to choose from.
inline void show_made_folder(Chooser& chooser) {
    chooser.folder = "/music/live";
    chooser.entries = {{"takes", EntryKind::folder, 0},
                       {"lantern_street.flac", EntryKind::recording, 31000000}};
}

}  // namespace bentline::window
