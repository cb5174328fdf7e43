// Options by which a player tells what he knows already.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include <CLI/CLI.hpp>

#include "engine/bars/bar_map.h"
#include "engine/notes/hints.h"
#include "engine/result.h"

namespace bentline::command {

// --known, --note-at, --no-note.
struct HintOptions {
    std::optional<std::string> known;
    Hints typed;  // notes heard and notes ruled out
};
void add_hints(CLI::App& verb, HintOptions& options);

// All hints together; bars: their beats between two times, where there are bars. Fails as reading
// the --known file does: a draft (its inked notes) or a file of notes as the verb `notes` writes
// (all of them).
Result<Hints> read_hints(const HintOptions& options, const std::optional<BarMap>& bars,
                         SecondsRange span);

}  // namespace bentline::command
