// The program's door: reads the line, runs the verb, and turns anything that went wrong into one
// sentence and an exit code.
#include <cstdio>
#include <exception>

#include "ui/command/console.h"
#include "ui/command/verbs.h"

namespace {

using namespace bentline::command;

int run_line(int argc, char** argv) {
    CLI::App app{
        "Bentline lifts a single-line solo off a recording: listen slowly, follow the pitch, "
        "measure\n"
        "slides, bends and vibrato, ink the notes, and hand them out.\n"};
    app.name("bentline");
    app.require_subcommand(1);
    app.footer(
        "\nBegin with:  bentline window RECORDING\n"
        "Each command has its own help:  bentline slow --help\n"
        "A solo and a recording have owners: check the rights before you hand out copies.");
    app.get_formatter()->column_width(34);

    Run run;
    add_info(app, run);
    add_slow(app, run);
    add_curve(app, run);
    add_notes(app, run);
    add_draft(app, run);
    add_ink(app, run);
    add_export(app, run);
    add_window(app, run);
    try {
        app.parse(argc, argv);
    } catch (const CLI::ParseError& wrong) {
        if (wrong.get_exit_code() == 0) return app.exit(wrong);  // --help
        std::fprintf(stderr, "bentline: %s; see bentline --help\n", wrong.what());
        return exit_wrong_usage;
    }
    return run();
}

}  // namespace

int main(int argc, char** argv) {
    try {
        return run_line(argc, argv);
    } catch (const std::bad_alloc&) {
        std::fputs(
            "bentline: not enough memory for so long an excerpt; choose a shorter one with "
            "--from and --to\n",
            stderr);
    } catch (const std::exception& e) {
        std::fprintf(stderr, "bentline: an unexpected fault (%s); nothing was written\n", e.what());
    }
    return exit_could_not;
}
