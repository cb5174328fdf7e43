// bentline lesson: what the solo does, as a sheet for a teacher or as figures.
#include <memory>
#include <optional>

#include "engine/ending.h"
#include "engine/lesson/lesson_html.h"
#include "engine/lesson/lesson_json.h"
#include "ui/command/open_draft.h"
#include "ui/command/options.h"
#include "ui/command/verbs.h"

namespace bentline::command {

namespace {

struct LessonOptions {
    Common common;
    bool pencilled = false;
    std::string draft;
    Part part;
};

int run(const LessonOptions& options) {
    Console console(options.common.quiet);
    const auto& out = options.common.out;
    const std::string form = out ? small_ending(*out) : ".html";
    if (form != ".html" && form != ".json") {
        return console.fail({FailureKind::out_of_range,
                             out->string() +
                                 " is neither a sheet nor figures: give the file the ending .html "
                                 "or .json",
                             {out->string(), {}, {}}});
    }
    auto whole = open_draft(options.draft, console);
    if (!whole) return console.fail(whole.failure());
    if (auto ok = check_out(out, {options.draft, whole->recording.path}); !ok)
        return console.fail(ok.failure());
    auto draft = only_part(*whole, options.part);
    if (!draft) return console.fail(draft.failure());
    WhichNotes which = options.pencilled ? WhichNotes::inked_and_pencilled : WhichNotes::inked;
    if (select_notes(*draft, which).empty() && !draft->notes.empty()) {
        console.say("No note of the draft is inked yet: this is about the pencilled ones");
        which = WhichNotes::inked_and_pencilled;
    }
    auto written = write_result(
        out, form == ".html" ? lesson_html(*draft, which) : lesson_json(*draft, which));
    if (!written) return console.fail(written.failure());
    console.say((out ? out->string() + ": a" : std::string("A")) +
                " measurement is an estimate; the ear decides. A solo has owners: check the "
                "rights before you hand out copies");
    return exit_done;
}

}  // namespace

void add_lesson(CLI::App& app, Run& out) {
    auto options = std::make_shared<LessonOptions>();
    CLI::App* verb = app.add_subcommand(
        "lesson", "What the solo does and how to practise it, as a sheet or as figures");
    verb->add_option("DRAFT", options->draft, "The draft (.bentline)")->required();
    add_common(*verb, options->common, "the sheet (.html) or its figures (.json)");
    verb->add_flag("--pencilled", options->pencilled,
                   "Also about the notes that are not inked yet");
    add_part(*verb, options->part);
    verb->callback([options, &out] { out = [options] { return run(*options); }; });
}

}  // namespace bentline::command
