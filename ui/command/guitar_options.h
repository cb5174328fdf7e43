// The options that say which guitar the tablature is for.
#pragma once

#include <optional>
#include <string>

#include <CLI/CLI.hpp>

#include "engine/draft/neck.h"
#include "engine/result.h"

namespace bentline::command {

struct GuitarOptions {
    std::optional<std::string> tuning;
    std::optional<int> capo;
    std::optional<int> frets;
    bool any() const { return tuning || capo || frets; }
};
// --tuning, --capo, --frets.
void add_guitar(CLI::App& verb, GuitarOptions& options);

// `before` with what the options say. Fails with out_of_range.
Result<Neck> neck_of(const GuitarOptions& options, const Neck& before);

}  // namespace bentline::command
