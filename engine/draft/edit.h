// Edits: what a player does to a draft, one small value each.
//
// apply() is pure: it returns the changed draft or says why the edit does not fit (bad_edit); the
// given draft stays as it is. What a player may count on after every edit:
//   - Notes stay sorted by onset and never overlap; ids stay with their notes.
//   - A note that begins while another sounds damps it, as on a string: it is cut at the later
//     one's onset. No note is cut below shortest_note, and none jumps over its neighbour's onset:
//     such an edit is refused.
//   - Bar 1 stays near the music (bar_one.h): an edit that takes it farther is refused.
//   - When a note's ends move, its inflections are cut to fit; one that lies wholly outside goes.
//   - Bar map, key, form and chords never move a note in time.
//   - Repencil never changes, cuts or removes an inked note. [any]
#pragma once

#include <concepts>
#include <cstddef>
#include <optional>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "engine/draft/draft.h"

namespace bentline {

//   ~~~~ C4 ~~~~   ->   ==== C4 ====        (~ pencilled, = inked)
struct Ink {
    std::vector<NoteId> ids;
};
// Back to pencil.
struct Pencil {
    std::vector<NoteId> ids;
};
// Takes notes away. One that was pencilled is ruled out (Draft::not_these), so that pencilling anew
// does not bring it back.
struct Discard {
    std::vector<NoteId> ids;
};
// Shifts notes, with their inflections, in time.
//   ..[C4]....[D4]   ->   ....[C4]..[D4]
struct Move {
    std::vector<NoteId> ids;
    Seconds by;
};
// Gives a note other ends; an end beyond the next onset stops there.
//   ..[C4]....[D4]   ->   ..[C4--]..[D4]
struct Resize {
    NoteId id;
    SecondsRange span;
};
// Moves written pitches by semitones; slides keep their intervals.
struct Retune {
    std::vector<NoteId> ids;
    int semitones = 0;
};
// Cuts a note in two at a time inside it. The first keeps the id; inflections go where they lie.
//   ..[C4--------]..   ->   ..[C4-][C4---]..
struct Split {
    NoteId id;
    Seconds at;
};
// Makes one note of two neighbours: the first's id, key and onset, the second's end. Inked if
// either is.
//   ..[C4-]..[C4---]..   ->   ..[C4--------]..
struct Join {
    NoteId first;
    NoteId second;
};
// A note that the player heard. Its end stops at the next onset.
struct AddNote {
    Note note;
    NoteState state = NoteState::inked;
};
// Sets an inflection, in place of one of the same kind if there is one.
struct SetInflection {
    NoteId id;
    Inflection inflection;
};
// Takes away the inflections of the kind that `like` holds; its fields do not matter.
struct RemoveInflection {
    NoteId id;
    InflectionKind like;
};
// Chooses one of a note's alternatives (0: the likeliest). The reading that it had until then takes
// the place of the one that was chosen, so that choosing again goes back; an alternative that is no
// note takes the note away. Another pitch, or none, rules the reading that it had until then out.
struct TakeAlternative {
    NoteId id;
    std::size_t which = 0;
};
// Where a note is to be played; empty: anywhere.
struct SetPin {
    std::vector<NoteId> ids;
    std::optional<Pin> pin;
};
// Replaces the pencilled notes that begin in `range` by `notes` (those that begin in it). A new
// note that begins while an inked one sounds is left out; one that would run into an inked one is
// cut; one that the player has ruled out is left out.
struct Repencil {
    SecondsRange range;
    std::vector<Note> notes;
};
// "There is a note here", heard but not pencilled: a mark for pencilling anew. Where a mark lies
// within here_tolerance, that one is taken away instead.
struct MarkHere {
    Seconds at;
    std::optional<MidiKey> key;
};
// words: what was done, for the history: "bar 1 is here". Empty: said from the maps themselves.
struct SetBars {
    std::optional<BarMap> bars;
    std::string words;
};
struct SetMetre {
    Metre metre;
};
struct SetKey {
    std::optional<Key> key;
};
struct SetForm {
    Form form;
};
// The tune's key and its sections' at once.
struct SetKeys {
    Keys keys;
};
// One bar's chords as typed; empty takes them away. bar: 1 to 9999.
struct SetChord {
    int bar = 1;
    std::string text;
};
struct SetChords {
    std::vector<std::string> chords;
};
struct SetFocus {
    Focus focus;
};
struct SetTuning {
    Cents tuning;
};
struct SetChorus {
    std::optional<SecondsRange> chorus;
};
// The guitar that the tablature is for.
struct SetNeck {
    Neck neck;
};
struct SetHeading {
    std::string title;
    std::string players;
};
struct SetRecording {
    RecordingRef recording;
};

using AnyEdit =
    std::variant<Ink, Pencil, Discard, Move, Resize, Retune, Split, Join, AddNote, SetInflection,
                 RemoveInflection, TakeAlternative, SetPin, Repencil, MarkHere, SetBars, SetMetre,
                 SetKey, SetForm, SetKeys, SetChord, SetChords, SetFocus, SetTuning, SetChorus,
                 SetNeck, SetHeading, SetRecording>;
// One edit of any of the kinds above. (A class of its own, so that apply() below is never mistaken
// for the standard library's.)
struct Edit {
    template <class Kind>
    requires std::constructible_from<AnyEdit, Kind> Edit(Kind kind)
        : what(std::move(kind)) {}  // NOLINT: an edit is any of its kinds
    AnyEdit what;
};

Result<Draft> apply(const Draft& draft, const Edit& edit);

// What the edit does, for the history list and the status line: "bar 7: bend 100 c -> 50 c",
// "12.345 s: Eb4 -> E4", "8 notes inked". `before` is the draft that it is applied to.
std::string describe(const Draft& before, const Edit& edit);

// A note's name and octave, middle C = C4: "Eb4". With flats; spelling in the key is the score's.
std::string plain_name(MidiKey key);

}  // namespace bentline
