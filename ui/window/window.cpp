// The door: builds a desk, opens what was asked for, and shows it on screen or in a picture.
#include "ui/window/window.h"

#include <cstdio>
#include <fstream>

#include "engine/one_line.h"
#include "engine/recording/atomic_file.h"
#include "ui/window/desk.h"
#include "ui/window/raster.h"
#include "ui/window/remember.h"
#include "ui/window/shell.h"
#include "ui/window/toolkit.h"

namespace bentline {
namespace {

int fail(const std::string& sentence) {
    std::fprintf(stderr, "bentline: %s\n", one_line(sentence).c_str());
    return 1;
}

// Opens what was asked for and plays the session script. `must_open`: a file that cannot be opened
// is a failure of the whole, not only a sentence in the window.
Result<Done> prepare(window::Desk& desk, const WindowRequest& request, bool must_open) {
    if (request.open) {
        desk.apply(window::intents::Open{request.open->string()});
        if (must_open || request.session_script) desk.wait_for_work();
        if (must_open && !desk.state().open) {
            const auto& notice = desk.state().notice;
            return Failure{FailureKind::unreadable,
                           notice ? notice->sentence
                                  : "could not open " + request.open->string() +
                                        "; name a recording or a draft",
                           {request.open->string(), {}, {}}};
        }
    }
    if (!request.session_script) return Done{};
    std::ifstream script(*request.session_script);
    if (!script) {
        return Failure{FailureKind::not_found,
                       "could not read the session script " + request.session_script->string() +
                           "; check its name",
                       {request.session_script->string(), {}, {}}};
    }
    return window::play_session(desk, script);
}

int draw_picture(const WindowRequest& request) {
    if (request.open) {
        if (const auto ok = check_apart(*request.picture, *request.open); !ok)
            return fail(ok.failure().sentence);
    }
    window::Desk desk({.sound = window::Sound::off, .remember = {}, .journal = false});
    desk.set_bench_width(window::bench_width(static_cast<float>(request.width) * request.scale,
                                             static_cast<float>(request.height) * request.scale,
                                             request.scale));
    // A picture of what could not be opened would only hide that.
    const Result<Done> prepared = prepare(desk, request, true);
    if (!prepared) return fail(prepared.failure().sentence);
    desk.wait_for_work();
    const auto pixels = [&](int points) {
        return static_cast<int>(static_cast<float>(points) * request.scale);
    };
    const window::Image image = window::picture_of(desk.state(), pixels(request.width),
                                                   pixels(request.height), request.scale);
    const Result<Done> written = window::write_png(*request.picture, image);
    return written ? 0 : fail(written.failure().sentence);
}

}  // namespace

int run_window(const WindowRequest& request) {
    if (request.width < 640 || request.height < 400 || request.width > 16384 ||
        request.height > 16384 || !(request.scale >= 0.5F && request.scale <= 4.0F)) {
        return fail(
            "a window has at least 640 by 400 points and a scale from 0.5 to 4; choose other "
            "figures");
    }
    if (request.picture) return draw_picture(request);
    window::Desk desk(
        {.sound = window::Sound::device, .remember = window::remembered_file(), .journal = true});
    const Result<Done> prepared = prepare(desk, request, false);
    if (!prepared) return fail(prepared.failure().sentence);
    const Result<Done> shown =
        window::show_on_screen(desk, request.width, request.height, request.scale);
    return shown ? 0 : fail(shown.failure().sentence);
}

}  // namespace bentline
