// Small drafts for tests: a steady line of notes, and random edits over it.
#pragma once

#include <string>
#include <vector>

#include "engine/draft/edit.h"
#include "tests/support/dice.h"

namespace bentline::testing {

// A note from `from` to `to` seconds.
inline Note note(double from, double to, int key) {
    Note n;
    n.onset = Seconds(from);
    n.offset = Seconds(to);
    n.key = MidiKey(key);
    return n;
}

// `count` notes of 0.2 s, one every 0.25 s, every third with inflections; bar 1 at 0, 120 a minute.
inline Draft steady_line(std::size_t count) {
    std::vector<Note> notes;
    for (std::size_t i = 0; i < count; ++i) {
        const double t = 0.25 * static_cast<double>(i);
        Note n = note(t, t + 0.2, 60 + static_cast<int>(i % 12));
        n.confidence = 0.9;
        n.reason = "level rose 14 dB in 8 ms";
        if (i % 3 == 0) {
            n.inflections.push_back(
                {Bend{Cents(100.0), Seconds(t + 0.05), Seconds(t + 0.1), false, false, {}}, 0.8,
                 "rose 98 c in 0.05 s, then held"});
            n.inflections.push_back(
                {Vibrato{Hertz(5.5), Cents(30.0), SecondsRange{Seconds(t + 0.1), Seconds(t + 0.2)}},
                 0.7, ""});
        }
        notes.push_back(std::move(n));
    }
    Draft draft;
    draft.recording.path = "take.flac";
    draft.bars = BarMap::constant(Tempo(120.0), Seconds(0.0)).value();
    return pencil(std::move(draft), notes).value();
}

// An edit drawn at random over the whole variety; it may or may not fit the draft.
class EditMaker {
  public:
    explicit EditMaker(unsigned seed) : dice_(seed) {}
    Edit make(const Draft& draft);

  private:
    double uniform(double from, double to) { return dice_.between(from, to); }
    int whole(int from, int to) { return dice_.whole(from, to); }
    NoteId any_id(const Draft& draft);

    Dice dice_;
};

}  // namespace bentline::testing
