// The program's door: reads the line, runs the verb, and turns anything that went wrong into one
// sentence and an exit code.
#include <algorithm>
#include <cstdio>
#include <exception>
#include <memory>
#include <sstream>
#include <string>

#include "engine/one_line.h"
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

// The parser's sentences for what players mistype, in the words of the other refusals.
std::string plainly(const CLI::ParseError& wrong, const CLI::App& verb) {
    std::string said = wrong.what();
    if (wrong.get_exit_code() == static_cast<int>(CLI::ExitCodes::ExtrasError)) {
        // "… not expected: VALUE --OPTION": a list, the last that was typed first.
        std::istringstream list(said.substr(said.find(": ") + 1));
        std::string first;
        for (std::string word; list >> word;) {
            if (word.starts_with("-")) return "'" + word + "' is no option of " + verb.get_name();
            first = word;
        }
        return "'" + first + "' is more than " + verb.get_name() + " works on";
    }
    static const std::string unread = "Could not convert: ";
    const auto equals = said.find(" = ");
    if (said.starts_with(unread) && equals != std::string::npos)
        return said.substr(unread.size(), equals - unread.size()) + ": '" +
               said.substr(equals + 3) + "' is no number";
    const auto more = said.find(": At Most 1 required");
    if (more != std::string::npos) return said.substr(0, more) + " may be given only once";
    return said;
}

// What was wrong with the line, and where help is.
std::string said_wrong(const CLI::App& app, const CLI::ParseError& wrong,
                       const std::string& first) {
    const auto chosen = app.get_subcommands();
    if (!chosen.empty())
        return plainly(wrong, *chosen.front()) + "; see bentline " + chosen.front()->get_name() +
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
    app.set_help_flag("-h,--help", "Show this, and end");
    const std::string owners =
        "A solo and a recording have owners: check the rights before you hand out copies.\n";
    auto help = std::make_shared<PlainHelp>();
    help->column_width(28);
    help->label("SUBCOMMAND", "COMMAND");
    help->label("SUBCOMMANDS", "COMMANDS");
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
    app.footer(
        "\nBegin with:  bentline window RECORDING\n"
        "Each command has its own help:  bentline slow --help\n" +
        owners);
    for (CLI::App* verb : app.get_subcommands({})) {
        verb->group("Commands");
        verb->footer("\n" + owners);
    }
    try {
        app.parse(argc, argv);
    } catch (const CLI::ParseError& wrong) {
        if (wrong.get_exit_code() == 0) return app.exit(wrong);  // --help
        const std::string sentence = said_wrong(app, wrong, argc > 1 ? argv[1] : "");
        std::fprintf(stderr, "bentline: %s\n", bentline::one_line(sentence).c_str());
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
