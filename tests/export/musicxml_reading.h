// What our MusicXML says, read back by an XML parser, and what must hold in every file.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/draft/draft.h"
#include "engine/tab/finger_draft.h"

namespace bentline::testing {

struct XmlNote {
    int measure = 0;  // counting from 0
    int staff = 1;
    bool grace = false;
    bool rest = false;
    bool tied_from_before = false;
    int key = 0;  // sounding, MIDI
    std::int64_t duration = 0;
    std::optional<int> string;
    std::optional<int> fret;
};

struct XmlPiece {
    int measures = 0;
    std::vector<XmlNote> notes;
    // Sounding pitch of each open string, capo on, [string - 1].
    std::vector<int> open;

    // Struck or slid-to notes of a staff, tied continuations left out.
    std::vector<int> keys(int staff) const;
    int heads(int staff) const;  // graces and tied heads too, no rests
};
// Throws std::runtime_error where it is not well formed.
XmlPiece read_musicxml(const std::string& text);

// Empty, or what is wrong: voices of a measure that do not add up to its length by its time
// signature (a first measure that is implicit may be shorter), a tablature note whose string and
// fret do not sound its pitch, slides, ties or tuplets that are not closed.
std::string fault_of_musicxml(const std::string& text);

// The keys of a MIDI file's note-on events, in order of time.
std::vector<int> midi_keys(const std::vector<std::uint8_t>& bytes);

}  // namespace bentline::testing
