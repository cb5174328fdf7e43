// Opening a draft for a verb, and naming a part of it.
#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include <CLI/CLI.hpp>

#include "engine/draft/draft_file.h"
#include "ui/command/console.h"

namespace bentline::command {

// The draft of a file; a recording that is missing or changed is said, and the draft opens all the
// same.
Result<Draft> open_draft(const std::filesystem::path& path, Console& console);

// --from and --to of a verb that takes a draft: seconds of the recording, or bar:beat.
struct Part {
    std::optional<std::string> from;
    std::optional<std::string> to;
    bool whole() const { return !from && !to; }
};
void add_part(CLI::App& verb, Part& part);

// Where the part lies in the recording; open ends reach as far as the notes and the bars do. Fails
// with out_of_range on what is no place, on bar:beat without bars, and on an end before its start.
Result<SecondsRange> span_of_part(const Draft& draft, const Part& part);

// The notes that a player counts to the part: those that begin in it, and where it is named by
// bar:beat also those that begin a hair before its first beat, as players and measurements do, and
// not those a hair before its end.
Result<std::vector<NoteId>> notes_of_part(const Draft& draft, const Part& part);
// The draft with no others. Fails with out_of_range also where no note begins in a named part.
Result<Draft> only_part(const Draft& draft, const Part& part);

// How early a note may begin and still belong to a beat: no written value lies so close before it
// (common practice, no source).
inline constexpr Beats early{0.125};

}  // namespace bentline::command
