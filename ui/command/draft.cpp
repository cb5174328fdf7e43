// bentline draft: a draft of a recording with every note pencilled.
#include "engine/draft/draft.h"

#include <algorithm>
#include <memory>

#include "engine/bars/bar_edits.h"
#include "engine/bars/bar_map.h"
#include "engine/bars/beats.h"
#include "engine/bars/chart.h"
#include "engine/bars/choruses.h"
#include "engine/bars/key_finder.h"
#include "engine/draft/bar_one.h"
#include "engine/draft/draft_file.h"
#include "engine/draft/draft_json.h"
#include "engine/draft/edit.h"
#include "engine/notes/pencil.h"
#include "ui/command/beats_file.h"
#include "ui/command/guitar_options.h"
#include "ui/command/hint_options.h"
#include "ui/command/open_draft.h"
#include "ui/command/options.h"
#include "ui/command/verbs.h"

namespace bentline::command {

namespace {

struct DraftOptions {
    Common common;
    Span span;
    Focus focus;
    HintOptions hints;
    std::string recording;
    std::optional<std::string> beats_file;
    std::optional<double> tempo;
    std::optional<double> bar_one;
    bool no_bars = false;
    std::optional<std::string> metre;
    std::optional<std::string> key;
    std::optional<std::string> form;
    std::optional<std::string> chords;
    std::optional<std::string> title;
    std::string players;
    GuitarOptions guitar;
};

Result<std::optional<Metre>> metre_of(const DraftOptions& options) {
    if (!options.metre) return std::optional<Metre>{};
    auto parsed = parse_metre(*options.metre);
    if (!parsed) return parsed.failure();
    return std::optional(*parsed);
}

std::optional<Seconds> bar_one_of(const DraftOptions& options) {
    if (!options.bar_one) return std::nullopt;
    return Seconds(*options.bar_one);
}

// Beats come from a file, or stand steadily at --tempo from --bar-one on, or are followed.
bool beats_are_given(const DraftOptions& options) {
    return options.beats_file || (options.tempo && options.bar_one);
}

// The bar map that the options name.
Result<BarMap> bars_of(const DraftOptions& options) {
    auto metre = metre_of(options);
    if (!metre) return metre.failure();
    if (options.beats_file)
        return read_beats_file(*options.beats_file, *metre, bar_one_of(options));
    return BarMap::constant(Tempo(*options.tempo), Seconds(*options.bar_one),
                            metre->value_or(Metre{}));
}

// The bars that the band plays, followed, and said so; none where nobody keeps a beat.
Result<std::optional<BarMap>> follow_bars(const Audio& audio, const DraftOptions& options,
                                          Console& console) {
    BeatSettings settings;
    if (options.tempo) settings.tempo_hint = Tempo(*options.tempo);
    auto metre = metre_of(options);
    if (!metre) return metre.failure();
    settings.metre = *metre;
    auto followed = follow_beats(audio, settings, console.work("Following the beats"));
    if (!followed) {
        if (followed.failure().kind != FailureKind::empty) return followed.failure();
        console.say("No beats to follow, so the draft has no bars and counts in seconds");
        return std::optional<BarMap>{};
    }
    auto map = to_bar_map(*followed);
    if (map && options.bar_one) map = bar_one_here(*map, Seconds(*options.bar_one));
    if (!map) return map.failure();
    console.say("Beats followed at " + fixed(followed->tempo.value(), 0) + " a minute in " +
                to_text(followed->metre) + ", bar 1 at " +
                fixed(map->time_of(Beats(0.0)).value(), 2) + " s" +
                (followed->count_in > 0 && !options.bar_one ? " after the count-in" : "") +
                "; if they are not right: --tempo, --metre, --bar-one, --beats or --no-bars");
    return std::optional(*map);
}

// Reads the chord chart into the draft; its section letters are the form unless --form says
// another.
Result<Done> add_chords(Draft& draft, const std::string& path, Console& console) {
    auto text = read_text(path);
    if (!text) return text.failure();
    auto chart = parse_chart(*text);
    if (!chart) {
        Failure failure = chart.failure();
        failure.sentence = path + ": " + failure.sentence;
        return failure;
    }
    for (const ChartTrouble& t : chart->unknown) {
        console.say(path + ", line " + std::to_string(t.line) + ": '" + t.symbol +
                    "' is no chord that Bentline knows; it is kept as text");
    }
    draft.chords = chart->bars;
    if (draft.form.empty()) draft.form = chart->form;
    return Done{};
}

Result<Draft> heading(const DraftOptions& options, Console& console) {
    Draft draft;
    draft.title = options.title.value_or(std::filesystem::path(options.recording).stem().string());
    draft.players = options.players;
    draft.focus = options.focus;
    auto neck = neck_of(options.guitar, draft.neck);
    if (!neck) return neck.failure();
    draft.neck = *neck;
    if (auto metre = metre_of(options); !metre) return metre.failure();
    if (beats_are_given(options)) {
        auto bars = bars_of(options);
        if (!bars) return bars.failure();
        draft.bars = *bars;
    }
    PlayedForm form;
    if (options.form) {
        auto read = parse_played_form(*options.form);
        if (!read) return read.failure();
        form = *read;
        draft.form = repeated(form.once, form.times);
    }
    if (options.chords) {
        if (auto ok = add_chords(draft, *options.chords, console); !ok) return ok.failure();
        draft.chords = chords_of_choruses(std::move(draft.chords), form);
    }
    if (options.key) {
        auto keys = parse_keys(*options.key, draft.form);
        if (!keys) return keys.failure();
        draft.key = keys->tune;
        // Where only the tune's key is typed, the chart's sections keep theirs.
        if (options.key->find(',') != std::string::npos) draft.form = keys->form;
    }
    return draft;
}

// What the notes say of the key, where nobody else said it: a proposal, not put into the draft.
void suggest(const Draft& draft, const std::vector<Note>& notes, Console& console) {
    const auto suggested = suggest_keys(notes, draft.bars, draft.form, draft.chords);
    if (draft.key || !suggested) return;
    const std::string keys = to_text(suggested->keys);
    console.say("The notes suggest " + keys + " (fit " + fixed(suggested->correlation, 2) +
                " of 1); to settle it: --key \"" + keys + "\"");
}

// The notes that were known before: they are inked.
std::vector<NoteId> known_in(const Draft& draft, const Hints& hints) {
    std::vector<NoteId> ids;
    for (const DraftNote& n : draft.notes) {
        if (std::find(hints.inked.begin(), hints.inked.end(), n.note) != hints.inked.end())
            ids.push_back(n.id);
    }
    return ids;
}

// The files that the draft is made from.
std::vector<std::filesystem::path> sources_of(const DraftOptions& options) {
    std::vector<std::filesystem::path> sources{options.recording};
    for (const auto* file : {&options.beats_file, &options.chords}) {
        if (*file) sources.emplace_back(**file);
    }
    return sources;
}

// Ink is not lost with a draft that is written over: such a draft stays beside the new one,
// solo.bentline as solo.before.bentline, or the next number that is free.
Result<Done> keep_ink(const std::filesystem::path& draft, Console& console) {
    std::error_code error;
    if (!std::filesystem::is_regular_file(draft, error)) return Done{};
    const auto old = load_draft(draft);
    if (!old) return Done{};
    const auto inked = std::ranges::count_if(old->draft.notes, &DraftNote::inked);
    if (inked == 0) return Done{};
    std::filesystem::path kept;
    for (int number = 1; kept.empty() || std::filesystem::exists(kept, error); ++number) {
        std::string name = draft.stem().string() + ".before";
        if (number > 1) name += "-" + std::to_string(number);
        kept = draft.parent_path() / name.append(draft.extension().string());
    }
    if (!std::filesystem::copy_file(draft, kept, error)) {
        return Failure{FailureKind::cannot_write,
                       draft.string() + " holds inked notes and could not be kept as " +
                           kept.string() + "; choose another name for the new draft",
                       {draft.string(), {}, {}}};
    }
    console.say(draft.string() + " held inked notes (" + std::to_string(inked) +
                "): it is kept as " + kept.string());
    return Done{};
}

// Into the file that was named; without one to standard output, the recording named by its whole
// path, since nobody knows where the text will lie.
Result<Done> put(const Draft& draft, const std::optional<std::filesystem::path>& out,
                 Console& console) {
    if (!out) return write_result(out, draft_text(draft));
    if (auto kept = keep_ink(*out, console); !kept) return kept.failure();
    if (auto saved = save_draft(draft, *out); !saved) return saved.failure();
    return Done{};
}

int run(const DraftOptions& options) {
    Console console(options.common.quiet);
    // What was typed is checked before the long work.
    if (auto ok = check_out(options.common.out, sources_of(options)); !ok)
        return console.fail(ok.failure());
    auto draft = heading(options, console);
    if (!draft) return console.fail(draft.failure());
    auto reference = refer_to(options.recording);
    if (!reference) return console.fail(reference.failure());
    draft->recording = *reference;
    auto audio = read_span(options.recording, options.span.from, options.span.to, console);
    if (!audio) return console.fail(audio.failure());
    const SecondsRange heard{audio->start_time(), audio->start_time() + audio->duration()};
    if (options.span.from || options.span.to) draft->chorus = heard;
    if (draft->bars) {
        if (auto ok = check_bar_one(*draft->bars, heard); !ok) return console.fail(ok.failure());
    }
    // Beats that were told are a hint; those that are only followed below are not.
    auto hints = read_hints(options.hints, draft->bars, heard);
    if (!hints) return console.fail(hints.failure());
    if (!draft->bars && !options.no_bars) {
        auto bars = follow_bars(*audio, options, console);
        if (!bars) return console.fail(bars.failure());
        draft->bars = *bars;
        if (draft->bars) {
            if (auto ok = check_bar_one(*draft->bars, heard); !ok)
                return console.fail(ok.failure());
        }
    }
    auto pencilled = pencil_notes(*audio, options.focus, *hints, console.work("Pencilling notes"));
    if (!pencilled) return console.fail(pencilled.failure());
    draft->tuning = pencilled->curve.tuning;
    auto full = pencil(std::move(draft).value(), pencilled->notes);
    if (full) full = apply(*full, Ink{known_in(*full, *hints)});
    if (!full) return console.fail(full.failure());
    const auto& out = options.common.out;
    if (auto ok = put(*full, out, console); !ok) return console.fail(ok.failure());
    console.say(std::to_string(full->notes.size()) + " notes pencilled" +
                (out ? " in " + out->string() : ""));
    suggest(*full, pencilled->notes, console);
    return exit_done;
}

}  // namespace

void add_draft(CLI::App& app, Run& out) {
    auto options = std::make_shared<DraftOptions>();
    CLI::App* verb =
        app.add_subcommand("draft", "A draft to work on: the recording with every note pencilled");
    verb->add_option("REC", options->recording, "The recording")->required();
    auto* beats = verb->add_option("--beats", options->beats_file,
                                   "Where the beats are: a JSON file with beats and downbeats")
                      ->type_name("F.json");
    auto* tempo = verb->add_option("--tempo", options->tempo,
                                   "Beats a minute: with --bar-one, steady from there on; alone, a "
                                   "hint where the beats went half or double time")
                      ->check(between(30.0, 320.0))
                      ->excludes(beats);
    auto* bar_one = verb->add_option("--bar-one", options->bar_one,
                                     "Where bar 1 begins, in seconds; without --tempo, the beat "
                                     "nearest to it")
                        ->check(between(-1e6, 1e6))
                        ->type_name("S");
    verb->add_flag("--no-bars", options->no_bars, "Leave the bars out: everything in seconds")
        ->excludes(beats)
        ->excludes(tempo)
        ->excludes(bar_one);
    verb->add_option("--metre", options->metre, "Time signature: 4/4, 3/4, 6/8 ...");
    verb->add_option("--key", options->key,
                     "Key: Eb, F#m, \"C minor\" ...; with a section in another: \"Eb, B in Ab\"");
    verb->add_option("--form", options->form,
                     "Section letters of eight bars each: AABA; other lengths: A12, A16B8; three "
                     "choruses: \"AABA x3\"");
    verb->add_option("--chords", options->chords, "Chord chart, a text file: | Eb6 C7 | Fm7 Bb7 |")
        ->type_name("FILE");
    verb->add_option("--title", options->title, "Title; without it, the recording's file name");
    verb->add_option("--players", options->players, "Who plays, as the sheet names them");
    add_guitar(*verb, options->guitar);
    add_common(*verb, options->common, "the draft (.bentline)");
    add_span(*verb, options->span);
    add_focus(*verb, options->focus);
    add_hints(*verb, options->hints);
    verb->callback([options, &out] { out = [options] { return run(*options); }; });
}

}  // namespace bentline::command
