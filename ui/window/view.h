// Draws the window from its state and says what the player asked for. Changes nothing but its
// scratch.
#pragma once

#include <vector>

#include "ui/window/intent.h"
#include "ui/window/scratch.h"
#include "ui/window/state.h"

namespace bentline::window {

// Between the toolkit's NewFrame and Render, once a frame. The intents are in the order in which
// they were asked for. Does no long work: with 3,000 notes and ten minutes of line it costs a few
// milliseconds (tests/bench measures it). [window]
std::vector<Intent> draw(const State& state, Scratch& scratch);

}  // namespace bentline::window
