// bentline slow: the recording, or an excerpt, at another speed with its pitch kept.
#include <memory>

#include <unistd.h>

#include "engine/listening/practice_clips.h"
#include "engine/listening/slow_file.h"
#include "ui/command/options.h"
#include "ui/command/verbs.h"

namespace bentline::command {

namespace {

struct SlowOptions {
    Common common;
    Span span;
    double speed = 1.0;
    double cents = 0.0;
    std::string recording;
    std::optional<std::filesystem::path> clips;
};

// "tune-31.25" for the clips of an excerpt from there on, "tune" for those of the whole.
std::string clip_stem(const SlowOptions& options) {
    std::string name = std::filesystem::path(options.recording).stem().string();
    if (!options.span.from) return name;
    return name + "-" + fixed(*options.span.from, 2);
}

int run_clips(const SlowOptions& options, const Recording& recording, FramesRange span,
              Console& console) {
    ClipSettings settings;
    settings.retune = Cents(options.cents);
    auto written = write_clips(recording, span, settings, *options.clips, clip_stem(options),
                               console.work("Slowing"));
    if (!written) return console.fail(written.failure());
    for (const auto& path : *written)
        console.say(path.string());
    return exit_done;
}

// Where the sound goes: the file that was named, else standard output.
Result<AtomicFile> open_out(const SlowOptions& options) {
    if (!options.common.out) return AtomicFile::through(STDOUT_FILENO, "standard output");
    if (auto ok = check_out(options.common.out, {options.recording}); !ok) return ok.failure();
    return AtomicFile::create(*options.common.out);
}

int run(const SlowOptions& options) {
    Console console(options.common.quiet);
    auto recording = Recording::open(options.recording);
    if (!recording) return console.fail(recording.failure());
    auto span = span_of(recording->info(), options.span.from, options.span.to);
    if (!span) return console.fail(span.failure());
    if (!recording->info().note.empty()) console.say(recording->info().note);
    if (options.clips) return run_clips(options, *recording, *span, console);
    auto out = open_out(options);
    if (!out) return console.fail(out.failure());
    auto done = slow_file(*recording, *span, options.speed, Cents(options.cents), std::move(*out),
                          console.work("Slowing"));
    return done ? exit_done : console.fail(done.failure());
}

}  // namespace

void add_slow(CLI::App& app, Run& out) {
    auto options = std::make_shared<SlowOptions>();
    CLI::App* verb = app.add_subcommand(
        "slow", "The recording slower (or faster), its pitch kept, as a WAV file");
    verb->add_option("REC", options->recording, "The recording")->required();
    auto* speed =
        verb->add_option("--speed", options->speed, "1 as recorded, 0.5 half speed; 0.1 to 2")
            ->check(between(0.1, 2.0));
    verb->add_option("--cents", options->cents, "Retune by this much, -1200 to 1200")
        ->check(between(-1200.0, 1200.0));
    add_common(*verb, options->common, "the sound (WAV)");
    auto* clips = verb->add_option("--clips", options->clips,
                                   "Instead of one file: clips to practise with at 50, 75 and "
                                   "100 %, into this folder")
                      ->type_name("DIR")
                      ->excludes(speed)
                      ->excludes(verb->get_option("--out"));
    add_span(*verb, options->span);
    verb->callback([options, &out, speed, clips] {
        if (clips->empty() && speed->empty()) throw CLI::RequiredError("--speed, or --clips,");
        if (clips->empty() && !options->common.out && isatty(STDOUT_FILENO) == 1) {
            throw CLI::ValidationError(
                "--out", "a WAV file is nothing for a terminal: name a file, or lead it elsewhere");
        }
        out = [options] { return run(*options); };
    });
}

}  // namespace bentline::command
