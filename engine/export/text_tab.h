// Tablature as plain text, for a message or an e-mail.
//
//      Eb6             C7
//      1   2   3   4   |1   2   3   4
//   e |----------------|------------|
//   B |----8b10--8-----|4-----------|
//
// A line a string, the highest on top; every beat is as wide as what is played in it needs, even
// within itself, and the beats are counted above. As players type it (common practice,
// no source): b bend to that fret's pitch, r released, pb bent before it is struck, / and \ slides,
// ~ vibrato, tr(n) trill with fret n, ' short, > accent, (n) a grace note. A legend names the signs
// that are used. Notes without a spot are listed below. A held note is written once. Lines are at
// most `width` characters wide unless one bar alone is wider. [any]
#pragma once

#include <set>
#include <string>

#include "engine/draft/draft.h"
#include "engine/result.h"
#include "engine/score/score.h"
#include "engine/tab/finger_draft.h"

namespace bentline {

struct TextTabSettings {
    bool plain = false;  // frets alone
    int width = 76;      // characters; 40 or more
};

// A passage alone: the bars from the first to the last one that hold a head of these notes, with
// no other notes in them. lines: empty where no bar does; signs: the legend of what is used.
struct TabPassage {
    std::string lines;
    std::set<std::string> signs;
};
TabPassage tab_passage(const Score& score, const DraftFingering& fingering,
                       const std::set<NoteId>& notes, const TextTabSettings& settings = {});

// fingering: of the same draft and notes as the score.
std::string text_tab(const Score& score, const DraftFingering& fingering,
                     const TextTabSettings& settings = {});

// The same from a draft. Fails with bad_draft where it has no bars and out_of_range where there is
// no note to write.
Result<std::string> text_tab_of(const Draft& draft, WhichNotes which,
                                const TextTabSettings& settings = {});

}  // namespace bentline
