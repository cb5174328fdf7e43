// The draft: everything that is known about one solo, as a plain value.
//
// A draft is changed only by making another: engine/draft/edit.h says how. It works without a bar
// map; everything then counts in seconds. [any]
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "engine/bars/bar_map.h"
#include "engine/bars/form.h"
#include "engine/draft/neck.h"
#include "engine/draft/note_list.h"
#include "engine/notes/hints.h"
#include "engine/recording/fingerprint.h"
#include "engine/recording/focus.h"
#include "engine/units.h"

namespace bentline {

// The recording that a draft was lifted from.
struct RecordingRef {
    std::string
        path;  // relative to the draft file where possible, with '/'; as opened before a save
    std::optional<Fingerprint> fingerprint;  // empty: not known yet
    friend bool operator==(const RecordingRef&, const RecordingRef&) = default;
};

struct Draft {
    RecordingRef recording;
    std::string title;
    std::string players;
    std::optional<SecondsRange> chorus;  // the part of the recording that is being lifted
    Cents tuning{0.0};                   // of the recording, from A4 = 440 Hz; positive: sharp
    Focus focus;
    std::optional<BarMap> bars;
    std::optional<Key> key;           // of the tune
    Form form;                        // with the keys of sections that stand in another
    std::vector<std::string> chords;  // [bar - 1], as typed: "Eb6 C7"; may be shorter than the tune
    Neck neck;                        // the guitar that the tablature is for
    NoteList notes;
    // What the player said while mending, for pencilling anew: a note is here; this is none.
    std::vector<NoteHere> here;      // by time
    std::vector<NotThis> not_these;  // in the order in which he said so
    NoteId next_id{1};               // for the next note that is made; above every id in use
    std::string unread;              // what a newer program wrote, as JSON; kept, not understood

    Keys keys() const { return {key, form}; }
    // The key at a time: the section's, where there are bars to know it by; else the tune's.
    std::optional<Key> key_at(Seconds time) const;
    friend bool operator==(const Draft&, const Draft&) = default;
};

// A draft whose notes are all pencilled, ids from 1 in order of onset. Fails with bad_edit where
// the notes do not make a single line, and as check_bar_one() does (bar_one.h).
Result<Draft> pencil(Draft without_notes, const std::vector<Note>& notes);

// The notes that an export writes: the inked ones, or all.
enum class WhichNotes { inked, inked_and_pencilled };
std::vector<Note> select_notes(const Draft& draft, WhichNotes which);

// The span of bars `first` to `last`, both included. Fails with out_of_range where there is no map.
Result<SecondsRange> span_of_bars(const Draft& draft, int first, int last);

}  // namespace bentline
