// bentline export: hands a draft out as MIDI.
#include <cstdio>
#include <memory>

#include <unistd.h>

#include "engine/export/midi.h"
#include "ui/command/open_draft.h"
#include "ui/command/options.h"
#include "ui/command/verbs.h"

namespace bentline::command {

namespace {

struct Options {
    bool quiet = false;
    bool force = false;
    bool plain = false;
    bool pencilled = false;
    std::string draft;
    std::filesystem::path midi;
};

// A file that would be lost is not written over unasked: on a terminal the player is asked,
// elsewhere he says --force. An empty file holds nothing to lose.
Result<Done> may_write(const std::filesystem::path& path, bool force) {
    std::error_code error;
    if (force || !std::filesystem::is_regular_file(path, error) ||
        std::filesystem::file_size(path, error) == 0) {
        return Done{};
    }
    const std::string taken = path.string() + " is there already";
    if (isatty(STDIN_FILENO) == 1 && isatty(STDERR_FILENO) == 1) {
        std::fprintf(stderr, "%s; write over it? [y/N] ", taken.c_str());
        const int answer = std::getchar();
        if (answer == 'y' || answer == 'Y') return Done{};
    }
    return Failure{FailureKind::cannot_write,
                   taken + "; choose another name, or add --force to write over it",
                   {path.string(), {}, {}}};
}

int run(const Options& options) {
    Console console(options.quiet);
    auto draft = open_draft(options.draft, console);
    if (!draft) return console.fail(draft.failure());
    if (auto may = may_write(options.midi, options.force); !may) return console.fail(may.failure());
    MidiSettings settings;
    settings.plain = options.plain;
    settings.which = options.pencilled ? WhichNotes::inked_and_pencilled : WhichNotes::inked;
    auto written = export_midi(*draft, options.midi, settings);
    if (!written) return console.fail(written.failure());
    console.say(options.midi.string() + ": " +
                std::to_string(select_notes(*draft, settings.which).size()) +
                " notes. A solo has owners: check the rights before you hand out copies");
    return exit_done;
}

}  // namespace

void add_export(CLI::App& app, Run& out) {
    auto options = std::make_shared<Options>();
    CLI::App* verb = app.add_subcommand("export", "Hand out the inked notes of a draft");
    verb->add_option("DRAFT", options->draft, "The draft (.bentline)")->required();
    verb->add_option("--midi", options->midi, "As a Standard MIDI File, bends and vibrato in it")
        ->type_name("F.mid")
        ->required();
    verb->add_flag("--plain", options->plain, "Without bends, slides and vibrato");
    verb->add_flag("--pencilled", options->pencilled, "Also the notes that are not inked yet");
    verb->add_flag("--force", options->force, "Write over a file of that name");
    verb->add_flag("--quiet", options->quiet, "Say nothing but failures");
    verb->callback([options, &out] { out = [options] { return run(*options); }; });
}

}  // namespace bentline::command
