// Hands a draft out in several forms at once: all of them come into being, or none.
//
// Every form is first made whole beside its target, then all are moved under their names
// (engine/recording/staging.h). The score and the fingering are made once for all forms. The
// command line and the window call this one function. [worker]
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "engine/draft/draft.h"
#include "engine/export/engraving/settings.h"
#include "engine/result.h"
#include "engine/work.h"

namespace bentline {

// What to hand out and to where. An empty place: not in that form.
struct Handout {
    WhichNotes which = WhichNotes::inked;
    bool plain = false;  // without the inflections
    std::optional<std::filesystem::path> midi;
    // musicxml.h; a name that ends in .mxl gets it compressed (mxl.h).
    std::optional<std::filesystem::path> musicxml;
    std::optional<std::filesystem::path> csv;       // measurements.h
    std::optional<std::filesystem::path> text_tab;  // text_tab.h
    std::optional<std::filesystem::path> clips;     // a folder; clips.h
    std::optional<std::filesystem::path> sheet;     // .pdf or .svg; draft_sheet.h
    engraving::Settings engraving;                  // of the sheet
    bool overwrite = false;                         // files of these names may be lost

    bool nothing_asked() const;
};

// One thing that was handed out, for a remark: "solo.mid", "212 notes".
struct HandedOut {
    std::filesystem::path path;
    std::string what;
};

// Every form that was asked for, in the order of Handout's fields. Fails with out_of_range where
// there is no note to hand out, with bad_draft where a form needs bars and there are none (the
// sentence says which form), with cannot_write (also where a name is taken and `overwrite` is not
// set, or is the recording's), and when stopped. Nothing has then changed on the disk.
Result<std::vector<HandedOut>> hand_out(const Draft& draft, const Handout& handout,
                                        const Work& work = {});

// The files that these forms are to be written to; the names of clips are not among them.
std::vector<std::filesystem::path> targets_of(const Handout& handout);
// The files that are there, hold something, and would be written over.
std::vector<std::filesystem::path> names_taken(const Draft& draft, const Handout& handout);

// The failure of an export that finds no note to write.
Failure nothing_to_hand_out(const Draft& draft, WhichNotes which);

}  // namespace bentline
