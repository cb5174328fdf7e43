// What the window keeps from one evening to the next, as a small JSON file.
#pragma once

#include <filesystem>

#include "engine/result.h"
#include "ui/window/state.h"

namespace bentline::window {

// Where it lies: $XDG_CONFIG_HOME/bentline/window.json, else ~/.config/… (XDG Base Directory
// Specification 0.8). Empty where there is neither.
std::filesystem::path remembered_file();
// A file that is missing or damaged counts as an empty one: nothing in it is worth a failure. [any]
Remembered read_remembered(const std::filesystem::path& file);
// Fails with cannot_write. [any]
Result<Done> write_remembered(const std::filesystem::path& file, const Remembered& what);

}  // namespace bentline::window
