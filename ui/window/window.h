// The window's door: what the command line asks of it.
#pragma once

#include <filesystem>
#include <optional>

namespace bentline {

struct WindowRequest {
    std::optional<std::filesystem::path> open;            // a recording or a draft
    std::optional<std::filesystem::path> picture;         // draw one frame off screen into this PNG
    int width = 1280;                                     // of the window or the picture, points
    int height = 720;                                     // at least 640 x 400
    float scale = 1.0F;                                   // pixels a point, 0.5 to 4
    std::optional<std::filesystem::path> session_script;  // lines of intents, played at the start
};

// Opens the window and returns when it is closed, or, with `picture`, draws itself once without a
// display and returns. 0: done. 1: could not; one line on standard error says what, where and what
// to do, and no half-written picture is left. With `picture`, a recording is analysed before it is
// drawn. [main thread]
int run_window(const WindowRequest& request);

}  // namespace bentline
