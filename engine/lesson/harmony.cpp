// The line against the chords and against the beat, by the written rhythm.
#include <algorithm>
#include <array>
#include <cmath>

#include "engine/bars/chord.h"
#include "engine/lesson/figures.h"
#include "engine/score/pulses.h"
#include "engine/score/quantise.h"
#include "engine/score/write_score.h"

namespace bentline {
namespace {

// A run: eighths or faster, swung ones too (two thirds of a beat); 0.3 s without bars.
constexpr double run_beats = 0.75;
constexpr Seconds run_seconds{0.3};

struct PlacedChord {
    Ticks at;
    std::string text;
    Chord chord;
};

std::vector<PlacedChord> chords_of(const Draft& draft) {
    std::vector<PlacedChord> all;
    for (std::size_t i = 0; i < draft.chords.size(); ++i) {
        const int bar = static_cast<int>(i) + 1;
        const Metre metre = draft.bars->metre_at(bar);
        const Ticks start = bar_start(*draft.bars, bar);
        for (const ChordSymbol& c : place_chords(draft.chords[i], metre)) {
            auto chord = parse_chord(c.text);
            all.push_back({start + c.at, c.text, chord.value_or(Chord{})});
        }
    }
    return all;
}

// As players count above a root: chord tones by the symbol's own degrees.
std::string degree_name(const Chord& chord, int pitch_class, bool& chord_tone) {
    const int up = ((pitch_class - chord.root.pitch_class()) % 12 + 12) % 12;
    const auto tone = chord.tone_at(pitch_class);
    chord_tone = tone && tone->degree <= 7;
    static constexpr std::array natural = {0, 0, 2, 4, 5, 7, 9, 11};
    if (tone && tone->degree <= 7) {
        if (tone->degree == 1) return "R";
        const int alter = up - natural.at(static_cast<std::size_t>(tone->degree));
        const std::string sign = alter < 0 ? std::string(static_cast<std::size_t>(-alter), 'b')
                                           : std::string(static_cast<std::size_t>(alter), '#');
        return sign + std::to_string(tone->degree);
    }
    const bool minor_third = chord.tone_at((chord.root.pitch_class() + 3) % 12).has_value();
    static constexpr std::array names = {"R",   "b9", "9",   "#9", "3",  "11",
                                         "#11", "5",  "b13", "13", "b7", "7"};
    if (up == 3 && minor_third) return "b3";
    return names.at(static_cast<std::size_t>(up));
}

}  // namespace

std::vector<ChordNote> against_chords(const Draft& draft, const std::vector<Note>& notes) {
    std::vector<ChordNote> all;
    if (!draft.bars || draft.chords.empty() || notes.empty()) return all;
    const std::vector<PlacedChord> chords = chords_of(draft);
    const QuantisedLine line = quantise(notes, *draft.bars);
    for (std::size_t i = 0; i < notes.size(); ++i) {
        if (line.notes[i].grace()) continue;
        const Ticks at = line.notes[i].start;
        const auto pulse =
            std::find_if(line.pulses.begin(), line.pulses.end(),
                         [&](const Pulse& p) { return p.start <= at && at < p.start + p.length; });
        // What is played after the chart's last bar is over chords that nobody told.
        if (pulse == line.pulses.end() || pulse->bar > static_cast<int>(draft.chords.size()))
            continue;
        const bool on_beat = at == pulse->start;
        // A note written off the beat that sounds over the next chord's beginning belongs to it.
        const Ticks heard =
            on_beat ? at
                    : std::max(at, std::min(at + line.notes[i].length - Ticks(1), at + Ticks(240)));
        const PlacedChord* under = nullptr;
        for (const PlacedChord& c : chords) {
            if (c.at <= heard) under = &c;
        }
        if (under == nullptr || under->chord.tones.empty()) continue;
        ChordNote n;
        n.note = i;
        n.bar = pulse->bar;
        n.chord = under->text;
        n.degree = degree_name(under->chord, notes[i].key.value() % 12, n.chord_tone);
        n.on_beat = on_beat;
        n.downbeat = on_beat && std::none_of(line.pulses.begin(), pulse,
                                             [&](const Pulse& p) { return p.bar == pulse->bar; });
        all.push_back(std::move(n));
    }
    return all;
}

RhythmFigures rhythm_of(const Draft& draft, const LessonFigures& f) {
    RhythmFigures r;
    for (const SoloPhrase& p : f.phrases) {
        for (std::size_t i = p.first; i < p.last;) {
            std::size_t end = i + 1;
            while (end < p.last && f.times[end] - f.times[end - 1] <=
                                       (draft.bars ? run_beats : run_seconds.value()))
                ++end;
            if (end - i > r.run_last - r.run_first) {
                r.run_first = i;
                r.run_last = end;
            }
            i = end;
        }
    }
    if (r.run_last - r.run_first >= 2) {
        r.run_per_second = static_cast<double>(r.run_last - r.run_first - 1) /
                           (f.notes[r.run_last - 1].onset - f.notes[r.run_first].onset).value();
    }
    if (!draft.bars || f.notes.empty()) return r;
    const QuantisedLine line = quantise(f.notes, *draft.bars);
    // Off-beat eighths tell the swing; a handful at least.
    std::size_t off_beats = 0;
    for (std::size_t i = 0; i < f.notes.size(); ++i) {
        for (const Pulse& p : line.pulses) {
            if (p.grid == Grid::eighths && !line.notes[i].grace() &&
                line.notes[i].start - p.start == Ticks(p.length.value() / 2)) {
                ++off_beats;
            }
        }
    }
    if (off_beats >= 4) r.swing = line.swing;
    if (f.notes.size() >= 4) r.late = line.late;
    return r;
}

}  // namespace bentline
