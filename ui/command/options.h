// Options that several verbs share, read in one way.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include <CLI/CLI.hpp>

#include "engine/recording/focus.h"
#include "engine/result.h"
#include "ui/command/console.h"

namespace bentline::command {

// --out and --quiet.
void add_common(CLI::App& verb, Common& common, const std::string& what_goes_out);

// --from and --to in seconds.
struct Span {
    std::optional<double> from;
    std::optional<double> to;
};
void add_span(CLI::App& verb, Span& span);

// --register, --pan, --pan-width. Wrong values are wrong usage: they end in exit code 2 while the
// line is read.
void add_focus(CLI::App& verb, Focus& focus);

// Check for an option: a number from low to high, both allowed; what is no number, nan or infinite
// is wrong usage too.
CLI::Validator between(double low, double high);

// The whole of a text as a whole number.
std::optional<int> whole_number(std::string_view text);

// "7" or "1-8": those bars.
std::optional<Range<int>> bars_named(const std::string& text);

// A pitch name of the trade: letter, accidentals (# or b, also ♯ ♭), octave; C4 = 60. "Eb6", "F#3".
std::optional<MidiKey> key_named(const std::string& name);

}  // namespace bentline::command
