// bentline ink: confirms pencilled notes of a draft, all of them or those of some bars.
#include <memory>

#include "engine/draft/draft_file.h"
#include "engine/draft/edit.h"
#include "ui/command/open_draft.h"
#include "ui/command/options.h"
#include "ui/command/verbs.h"

namespace bentline::command {

namespace {

struct InkOptions {
    Common common;
    std::string draft;
    std::optional<Range<int>> bars;  // first, one past the last
    Part part;
};

// "--bars 3-4" is "--from 3:1 --to 5:1".
Part part_of_bars(Range<int> bars) {
    return {std::to_string(bars.from) + ":1", std::to_string(bars.to) + ":1"};
}

int run(const InkOptions& options) {
    Console console(options.common.quiet);
    auto draft = open_draft(options.draft, console);
    if (!draft) return console.fail(draft.failure());

    std::vector<NoteId> ids;
    if (options.bars) {
        if (auto span = span_of_bars(*draft, options.bars->from, options.bars->to - 1); !span)
            return console.fail(span.failure());
    }
    if (options.bars || !options.part.whole()) {
        auto chosen =
            notes_of_part(*draft, options.bars ? part_of_bars(*options.bars) : options.part);
        if (!chosen) return console.fail(chosen.failure());
        ids = std::move(chosen).value();
    } else {
        for (const DraftNote& note : draft->notes)
            ids.push_back(note.id);
    }
    auto inked = apply(*draft, Ink{ids});
    if (!inked) return console.fail(inked.failure());
    const auto out = options.common.out.value_or(options.draft);
    auto saved = save_draft(*inked, out);
    if (!saved) return console.fail(saved.failure());
    console.say(std::to_string(ids.size()) + " notes inked in " + out.string());
    return exit_done;
}

}  // namespace

void add_ink(CLI::App& app, Run& out) {
    auto options = std::make_shared<InkOptions>();
    CLI::App* verb = app.add_subcommand("ink", "Ink (confirm) the pencilled notes of a draft");
    verb->add_option("DRAFT", options->draft, "The draft (.bentline)")->required();
    auto* bars = verb->add_option_function<std::string>(
                         "--bars",
                         [options](const std::string& text) {
                             options->bars = bars_named(text);
                             if (!options->bars) {
                                 throw CLI::ValidationError(
                                     "--bars", "'" + text + "' are no bars: write 7 or 1-8");
                             }
                         },
                         "Only these bars: 7 or 1-8; without it, all")
                     ->type_name("A-B");
    add_part(*verb, options->part);
    verb->get_option("--from")->excludes(bars);
    verb->get_option("--to")->excludes(bars);
    add_common(*verb, options->common, "the inked draft, in place of the draft itself,");
    verb->callback([options, &out] { out = [options] { return run(*options); }; });
}

}  // namespace bentline::command
