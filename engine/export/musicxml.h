// A score with its fingering as MusicXML 4.0: one guitar part on two linked staves, notation over
// tablature.
//
// Staff 1 has the guitar's treble clef, an octave lower (clef-octave-change -1); pitches are
// written as they sound, so nothing is transposed. Staff 2 is a tablature staff with the tuning and
// the capo; string and fret, bends and hidden rests stand there. Slides, slurs between slid notes,
// wavy lines stand on both. A note without a spot (FingeredNote::problem) is a hidden rest on the
// tablature. Slides from and to nowhere are also named in a word, because few readers draw them.
//
// Durations are in the score's ticks (`divisions` 480) and add up in every bar and voice. Chord
// symbols that are known get root, kind, degrees and bass; others, and N.C., stand as words.
// Characters that XML cannot hold are left out; bytes that are no UTF-8 become U+FFFD. The same
// score gives the same bytes. [any]
//
// Sources: MusicXML 4.0 (W3C Community Group); which of its encodings general readers accept was
// tried with two rendering libraries (tests/export/readers).
#pragma once

#include <string>

#include "engine/score/score.h"
#include "engine/tab/finger_draft.h"

namespace bentline {

struct MusicXmlSettings {
    bool plain = false;     // without slides, bends, wavy lines and trills
    std::string recording;  // name of the recording that it was lifted from; empty: not said
};

// fingering: of the same draft and notes as the score.
std::string musicxml_text(const Score& score, const DraftFingering& fingering,
                          const MusicXmlSettings& settings = {});

// What stands under a sheet that is handed out.
inline constexpr const char* rights_note =
    "A solo and a recording have owners: check the rights before handing out copies.";

}  // namespace bentline
