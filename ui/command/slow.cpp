// bentline slow: the recording, or an excerpt, at another speed with its pitch kept.
#include <memory>

#include "engine/listening/slow_file.h"
#include "ui/command/options.h"
#include "ui/command/verbs.h"

namespace bentline::command {

namespace {

struct Options {
    Common common;
    Span span;
    double speed = 1.0;
    double cents = 0.0;
    std::string recording;
};

int run(const Options& options) {
    Console console(options.common.quiet);
    auto recording = Recording::open(options.recording);
    if (!recording) return console.fail(recording.failure());
    auto span = span_of(recording->info(), options.span.from, options.span.to);
    if (!span) return console.fail(span.failure());
    if (!recording->info().note.empty()) console.say(recording->info().note);
    auto done = slow_file(*recording, *span, options.speed, Cents(options.cents),
                          *options.common.out, console.work("Slowing"));
    return done ? exit_done : console.fail(done.failure());
}

}  // namespace

void add_slow(CLI::App& app, Run& out) {
    auto options = std::make_shared<Options>();
    CLI::App* verb = app.add_subcommand(
        "slow", "The recording slower (or faster), its pitch kept, as a WAV file");
    verb->add_option("REC", options->recording, "The recording")->required();
    verb->add_option("--speed", options->speed, "1 as recorded, 0.5 half speed; 0.1 to 2")
        ->required()
        ->check(CLI::Range(0.1, 2.0));
    verb->add_option("--cents", options->cents, "Retune by this much, -1200 to 1200")
        ->check(CLI::Range(-1200.0, 1200.0));
    add_common(*verb, options->common, "the sound (WAV)");
    verb->get_option("--out")->required();
    add_span(*verb, options->span);
    verb->callback([options, &out] { out = [options] { return run(*options); }; });
}

}  // namespace bentline::command
