// The verbs of the command line, one source file each. Each adds its subcommand with its options
// and its help, and leaves behind what to run when the line has been read.
#pragma once

#include <functional>

#include <CLI/CLI.hpp>

namespace bentline::command {

// Returns the exit code of console.h.
using Run = std::function<int()>;

// Each sets `run` when its verb was given.
void add_info(CLI::App& app, Run& run);
void add_slow(CLI::App& app, Run& run);
void add_curve(CLI::App& app, Run& run);
void add_notes(CLI::App& app, Run& run);
void add_beats(CLI::App& app, Run& run);
void add_draft(CLI::App& app, Run& run);
void add_bars(CLI::App& app, Run& run);
void add_ink(CLI::App& app, Run& run);
void add_finger(CLI::App& app, Run& run);
void add_export(CLI::App& app, Run& run);
void add_play(CLI::App& app, Run& run);
void add_lesson(CLI::App& app, Run& run);
void add_window(CLI::App& app, Run& run);

}  // namespace bentline::command
