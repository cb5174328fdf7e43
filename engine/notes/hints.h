// What the player knows already, as values: notes that are inked, notes that he heard, notes that
// are none, where the beats are.
//
// Hints bind: an inked note comes out of every new analysis as it went in, and it teaches it who
// the soloist is. The others are opinions of different strength; each says how strong.
#pragma once

#include <optional>
#include <vector>

#include "engine/notes/note.h"
#include "engine/pitch/path_hints.h"
#include "engine/units.h"

namespace bentline {

// "There is a note here." His finger may be this late or early:
inline constexpr Seconds here_tolerance{0.07};
struct NoteHere {
    Seconds at;
    std::optional<MidiKey> key;  // where he heard which
    friend bool operator==(const NoteHere&, const NoteHere&) = default;
};

// "Not this note": whatever sounds at this pitch within the span is not the soloist.
struct NotThis {
    SecondsRange span;
    MidiKey key;
    friend bool operator==(const NotThis&, const NotThis&) = default;
};

struct Hints {
    // Certain. Sorted by onset, not overlapping. They fix pitch and octave inside their spans; the
    // soloist's place, timbre and loudness are learned from them first.
    std::vector<Note> inked;
    // Strong: twenty to one, still weighed against the sound.
    std::vector<NoteHere> here;
    // Strong: a thousand to one.
    std::vector<NotThis> not_these;
    // Mild. Times of the beats, rising. Where in the beat this soloist begins notes, and where
    // others strike, is learned from all attacks, and attacks at his places are raised by it: at
    // most by a factor of seven, mostly by less than two.
    std::vector<Seconds> beats;
    // Of the recording, where it was measured over more of it than is looked at now.
    std::optional<Cents> tuning;

    bool empty() const {
        return inked.empty() && here.empty() && not_these.empty() && beats.empty() && !tuning;
    }
    friend bool operator==(const Hints&, const Hints&) = default;
};

// The part of the hints that the tracker can use. [any]
PathHints path_hints(const Hints& hints);

// True where the hints say that a note of this key, sounding over this span, is not the soloist's.
bool ruled_out(const Hints& hints, SecondsRange span, MidiKey key);

// Found notes among the inked ones: a found note that begins while an inked one sounds is left out
// (within 40 ms of its end it begins there instead), one that would run into an inked one is cut;
// the inked ones follow unchanged. Sorted, not overlapping.
std::vector<Note> among_inked(const std::vector<Note>& found, const std::vector<Note>& inked);

}  // namespace bentline
