// What the system's callbacks gather between two frames.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "ui/window/chooser.h"
#include "ui/window/intent.h"

namespace bentline::window {

struct Gathered {
    std::vector<std::string> strokes;
    std::vector<std::string> dropped;

    // As the system hands over files that were dropped on the window.
    void drop(int count, const char* const* paths) {
        dropped.insert(dropped.end(), paths, paths + count);
    }
    // What they ask for: one can be on the desk. Forgets them.
    std::optional<Intent> take_dropped() {
        if (dropped.empty()) return {};
        return intents::Open{wanted_of(std::exchange(dropped, {})).string()};
    }
};

}  // namespace bentline::window
