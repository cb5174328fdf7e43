// bentline export: hands a draft out, in one form or in several at once.
#include <cctype>
#include <cstdio>
#include <memory>
#include <optional>
#include <string>

#include <unistd.h>

#include "engine/export/handout.h"
#include "engine/export/text_tab.h"
#include "ui/command/open_draft.h"
#include "ui/command/options.h"
#include "ui/command/verbs.h"

namespace bentline::command {

namespace {

namespace fs = std::filesystem;

struct ExportOptions {
    bool quiet = false;
    bool pencilled = false;
    bool staff_only = false;
    std::string paper = "A4";
    std::string draft;
    Part part;
    std::optional<std::filesystem::path> text_tab;  // "-": to standard output
    Handout handout;
    bool prints_tab() const { return text_tab && *text_tab == "-"; }
};

// Capitals or not.
std::optional<engraving::Paper> paper_named(std::string name) {
    for (char& c : name)
        c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    if (name == "a4") return engraving::Paper::a4;
    if (name == "letter") return engraving::Paper::letter;
    return std::nullopt;
}

// "a.mid is there already", "a.mid and 3 more files are there already".
std::string say_taken(const std::vector<fs::path>& taken) {
    const std::string first = taken.front().string();
    if (taken.size() == 1) return first + " is there already";
    return first + " and " + std::to_string(taken.size() - 1) + " more files are there already";
}

// Files that would be lost are not written over unasked: on a terminal the player is asked,
// elsewhere he says --force. An empty file holds nothing to lose.
Result<Done> may_write(const std::vector<fs::path>& taken) {
    if (taken.empty()) return Done{};
    const std::string said = say_taken(taken);
    if (isatty(STDIN_FILENO) == 1 && isatty(STDERR_FILENO) == 1) {
        std::fprintf(stderr, "%s; write over %s? [y/N] ", said.c_str(),
                     taken.size() == 1 ? "it" : "them");
        const int answer = std::getchar();
        if (answer == 'y' || answer == 'Y') return Done{};
    }
    return Failure{FailureKind::cannot_write,
                   said + "; choose another name, or add --force to write over it",
                   {taken.front().string(), {}, {}}};
}

int run(ExportOptions options) {
    Console console(options.quiet);
    auto whole = open_draft(options.draft, console);
    if (!whole) return console.fail(whole.failure());
    auto draft = only_part(*whole, options.part);
    if (!draft) return console.fail(draft.failure());
    Handout& handout = options.handout;
    handout.engraving.tab = !options.staff_only;
    handout.engraving.paper = paper_named(options.paper).value_or(engraving::Paper::a4);
    if (options.pencilled) handout.which = WhichNotes::inked_and_pencilled;
    if (options.text_tab && !options.prints_tab()) handout.text_tab = options.text_tab;
    for (const fs::path& target : targets_of(handout)) {
        if (auto ok = check_out(target, {options.draft}); !ok) return console.fail(ok.failure());
    }
    std::string printed;
    if (options.prints_tab()) {
        auto text = text_tab_of(*draft, handout.which, {handout.plain});
        if (!text) return console.fail(text.failure());
        printed = std::move(text).value();
    }
    if (!handout.overwrite) {
        if (auto may = may_write(names_taken(*draft, handout)); !may)
            return console.fail(may.failure());
        handout.overwrite = true;
    }
    auto made = hand_out(*draft, handout, console.work("Handing out"));
    if (!made) return console.fail(made.failure());
    if (options.prints_tab()) {
        if (auto ok = write_result(std::nullopt, printed); !ok) return console.fail(ok.failure());
    }
    for (const HandedOut& one : *made)
        console.say(one.path.string() + ": " + one.what);
    console.say("A solo has owners: check the rights before you hand out copies");
    return exit_done;
}

}  // namespace

void add_export(CLI::App& app, Run& out) {
    auto options = std::make_shared<ExportOptions>();
    CLI::App* verb = app.add_subcommand("export", "Hand out the inked notes of a draft");
    verb->add_option("DRAFT", options->draft, "The draft (.bentline)")->required();
    Handout& handout = options->handout;
    verb->add_option("--midi", handout.midi, "As a Standard MIDI File, bends and vibrato in it")
        ->type_name("F.mid");
    verb->add_option("--musicxml", handout.musicxml,
                     "As MusicXML, notation over tablature; F.mxl is compressed")
        ->type_name("F.musicxml");
    verb->add_option("--csv", handout.csv, "As a table of what was measured, a row a note")
        ->type_name("F.csv");
    verb->add_option("--text-tab", options->text_tab,
                     "As tablature in plain text, for a message; - prints it")
        ->type_name("F.txt");
    verb->add_option("--clips", handout.clips,
                     "Clips to practise with, line by line at 50, 75 and 100 % with a count-in, "
                     "into this folder")
        ->type_name("DIR");
    verb->add_option("--sheet", handout.sheet, "As a printed sheet, staff over tablature")
        ->type_name("F.pdf|F.svg");
    verb->add_option("--paper", options->paper, "What the sheet is printed on")
        ->check([](const std::string& typed) {
            return paper_named(typed) ? std::string()
                                      : "'" + typed +
                                            "' is no paper that the sheet is set for: A4 "
                                            "or letter";
        })
        ->type_name("A4|letter");
    verb->add_flag("--figures", handout.engraving.measured,
                   "On the sheet, also what was measured, in small type: cents and rates");
    verb->add_flag("--staff-only", options->staff_only, "The sheet without its tablature");
    add_part(*verb, options->part);
    verb->add_flag("--plain", handout.plain, "Without bends, slides and vibrato");
    verb->add_flag("--pencilled", options->pencilled, "Also the notes that are not inked yet");
    verb->add_flag("--force", handout.overwrite, "Write over files of these names");
    verb->add_flag("--quiet", options->quiet, "Say nothing but failures");
    verb->callback([options, &out] {
        if (options->handout.nothing_asked() && !options->text_tab) {
            throw CLI::RequiredError("what to hand out, such as --midi F.mid,");
        }
        out = [options] { return run(*options); };
    });
}

}  // namespace bentline::command
