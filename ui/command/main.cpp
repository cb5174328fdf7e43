// The program's door: reads the line, runs the verb, and turns anything that went wrong into one
// sentence and an exit code.
#include <algorithm>
#include <cstdio>
#include <exception>
#include <memory>
#include <string>

#include "ui/command/console.h"
#include "ui/command/verbs.h"

namespace {

using namespace bentline::command;

// Help without a programmer's types: "--speed N" instead of "INT:INT in [1 - 3] Excludes: …".
// The sentences say what is allowed.
class PlainHelp final : public CLI::Formatter {
  public:
    std::string make_option_opts(const CLI::Option* option) const override {
        std::string type = option->get_type_name();
        type.erase(std::min(type.find(":INT in ["), type.size()));
        if (type == "FLOAT" || type == "INT") type = "N";
        if (option->get_positional()) type.clear();
        return type.empty() ? "" : " " + type;
    }
};

// What was wrong with the line, and where help is.
std::string said_wrong(const CLI::App& app, const CLI::ParseError& wrong,
                       const std::string& first) {
    const auto chosen = app.get_subcommands();
    if (!chosen.empty())
        return std::string(wrong.what()) + "; see bentline " + chosen.front()->get_name() +
               " --help";
    if (!first.empty() && first.front() == '-')
        return std::string(wrong.what()) + "; see bentline --help";
    std::string names;
    for (const CLI::App* verb : app.get_subcommands({}))
        names += (names.empty() ? "" : ", ") + verb->get_name();
    return (first.empty() ? std::string("say what to do: ")
                          : "'" + first + "' is no command; there are ") +
           names + "; see bentline --help";
}

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
        "A solo and a recording have owners: check the rights before you hand out copies.\n");
    auto help = std::make_shared<PlainHelp>();
    help->column_width(28);
    help->label("SUBCOMMAND", "COMMAND");
    help->label("SUBCOMMANDS", "COMMANDS");
    help->label("Subcommands", "Commands");
    help->label("Positionals", "Works on");
    app.formatter(std::move(help));

    Run run;
    add_info(app, run);
    add_slow(app, run);
    add_curve(app, run);
    add_notes(app, run);
    add_beats(app, run);
    add_draft(app, run);
    add_bars(app, run);
    add_ink(app, run);
    add_finger(app, run);
    add_export(app, run);
    add_play(app, run);
    add_lesson(app, run);
    add_window(app, run);
    try {
        app.parse(argc, argv);
    } catch (const CLI::ParseError& wrong) {
        if (wrong.get_exit_code() == 0) return app.exit(wrong);  // --help
        std::fprintf(stderr, "bentline: %s\n",
                     said_wrong(app, wrong, argc > 1 ? argv[1] : "").c_str());
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
