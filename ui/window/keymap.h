// What the keys do: commands by name, the stroke each starts with, and the player's own changes.
//
// A stroke is written "ctrl+s", "shift+left", "space", "b": modifiers in the order ctrl, alt,
// shift, then a key's name. Letters are as the player's layout has them.
#pragma once

#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "ui/window/intent.h"

namespace bentline::window {

struct State;

struct Command {
    const char* name;                // "ink-on": for settings and session scripts
    const char* words;               // "ink the note and go to the next": for the list of keys
    const char* group;               // "Notes"
    const char* stroke;              // at the start
    Intent (*intent)(const State&);  // none for what the view itself begins: typing into the chart
};

// All commands, group by group.
std::span<const Command> commands();
const Command* find_command(std::string_view name);

// The command of a stroke, or none. The player's own changes (Remembered::keys) win over the start.
const Command* command_of(std::string_view stroke,
                          const std::map<std::string, std::string>& changes);
// What it asks for, if it asks for anything.
std::optional<Intent> intent_of(std::string_view stroke, const State& state);
// The stroke that leads to a command, or empty.
std::string stroke_of(std::string_view command, const std::map<std::string, std::string>& changes);
// "Ctrl S", "Shift ←", "Enter".
std::string stroke_words(std::string_view stroke);

}  // namespace bentline::window
