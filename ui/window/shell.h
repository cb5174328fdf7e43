// The shell: a real window on a real screen around the desk and its view.
#pragma once

#include "engine/result.h"
#include "ui/window/desk.h"

namespace bentline::window {

// Shows the desk until it is left. width, height: points. Fails with no_device where there is no
// display, or none that can draw. [main thread]
Result<Done> show_on_screen(Desk& desk, int width, int height, float scale);

}  // namespace bentline::window
