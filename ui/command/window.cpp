// bentline window: opens the window, or draws it once into a picture.
#include "ui/window/window.h"

#include <memory>

#include "ui/command/options.h"
#include "ui/command/verbs.h"

namespace bentline::command {

void add_window(CLI::App& app, Run& out) {
    struct Options {
        WindowRequest request;
        bool quiet = false;  // the window says nothing but failures anyway
    };
    auto options = std::make_shared<Options>();
    auto* request = &options->request;
    CLI::App* verb = app.add_subcommand("window", "The window, to listen, look and ink");
    verb->add_option("FILE", request->open,
                     "A recording or a draft; without it, choose one inside");
    verb->add_option("--picture", request->picture,
                     "Draw the window once, off screen, into this PNG file, and end")
        ->type_name("F.png");
    verb->add_option("--width", request->width, "Width of window or picture")
        ->check(CLI::Range(640, 7680));
    verb->add_option("--height", request->height, "Height of window or picture")
        ->check(CLI::Range(400, 4320));
    verb->add_option("--scale", request->scale, "Pixels a point: 2 on a dense display")
        ->check(between(0.5, 4.0));
    verb->add_option("--session", request->session_script,
                     "Play the lines of a session script when the window opens")
        ->type_name("FILE");
    verb->add_flag("--quiet", options->quiet, "Say nothing but failures");
    verb->callback([options, &out] { out = [options] { return run_window(options->request); }; });
}

}  // namespace bentline::command
