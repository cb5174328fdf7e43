// bentline notes: the pencilled notes of the lead, with their inflections.
#include <memory>

#include <nlohmann/json.hpp>

#include "engine/draft/note_json.h"
#include "engine/notes/pencil.h"
#include "ui/command/beats_file.h"
#include "ui/command/hint_options.h"
#include "ui/command/options.h"
#include "ui/command/verbs.h"

namespace bentline::command {

namespace {

struct NotesOptions {
    Common common;
    Span span;
    Focus focus;
    HintOptions hints;
    std::optional<std::string> beats_file;
    std::string recording;
};

// Every number to four decimals: 0.1 ms, well under what any onset is good for.
void round_numbers(Json& json) {
    if (json.is_number_float()) json = rounded(json.get<double>(), 4);
    if (json.is_structured()) {
        for (Json& part : json)
            round_numbers(part);
    }
}

std::string as_json(const Pencilled& pencilled) {
    Json list = Json::array();
    for (const Note& note : pencilled.notes)
        list.push_back(to_json(note));
    Json result = {{"tuning_cents", pencilled.curve.tuning.value()}, {"notes", std::move(list)}};
    round_numbers(result);
    return result.dump(1) + "\n";
}

int run(const NotesOptions& options) {
    Console console(options.common.quiet);
    if (auto ok = check_out(options.common.out, {options.recording}); !ok)
        return console.fail(ok.failure());
    auto audio = read_span(options.recording, options.span.from, options.span.to, console);
    if (!audio) return console.fail(audio.failure());
    const SecondsRange span{audio->start_time(), audio->start_time() + audio->duration()};
    std::optional<BarMap> bars;
    if (options.beats_file) {
        auto map = read_beats_file(*options.beats_file, std::nullopt);
        if (!map) return console.fail(map.failure());
        bars = std::move(map).value();
    }
    auto hints = read_hints(options.hints, bars, span);
    if (!hints) return console.fail(hints.failure());
    auto pencilled = pencil_notes(*audio, options.focus, *hints, console.work("Pencilling notes"));
    if (!pencilled) return console.fail(pencilled.failure());
    auto written = write_result(options.common.out, as_json(*pencilled));
    if (!written) return console.fail(written.failure());
    console.say(std::to_string(pencilled->notes.size()) +
                " notes pencilled; each is an estimate with its confidence, and the ear decides");
    return exit_done;
}

}  // namespace

void add_notes(CLI::App& app, Run& out) {
    auto options = std::make_shared<NotesOptions>();
    CLI::App* verb = app.add_subcommand(
        "notes", "The lead's notes, pencilled: pitch, time, level, slides, bends, vibrato");
    verb->add_option("REC", options->recording, "The recording")->required();
    add_common(*verb, options->common, "the notes (JSON)");
    add_span(*verb, options->span);
    add_focus(*verb, options->focus);
    add_hints(*verb, options->hints);
    verb->add_option("--beats", options->beats_file,
                     "Where the beats are: a JSON file as the verb beats writes it")
        ->type_name("F.json");
    verb->callback([options, &out] { out = [options] { return run(*options); }; });
}

}  // namespace bentline::command
