// Opening a draft for a verb.
#pragma once

#include <filesystem>

#include "engine/draft/draft_file.h"
#include "ui/command/console.h"

namespace bentline::command {

// The draft of a file; a recording that is missing or changed is said, and the draft opens all the
// same.
Result<Draft> open_draft(const std::filesystem::path& path, Console& console);

}  // namespace bentline::command
