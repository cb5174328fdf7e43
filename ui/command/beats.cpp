// bentline beats: where the beats and bars of a recording lie, and how it swings.
#include "engine/bars/beats.h"

#include <memory>

#include <nlohmann/json.hpp>

#include "ui/command/options.h"
#include "ui/command/verbs.h"

namespace bentline::command {

namespace {

struct BeatsOptions {
    Common common;
    Span span;
    std::string recording;
    std::optional<double> tempo;
    std::optional<std::string> metre;
};

nlohmann::ordered_json times(const std::vector<Seconds>& list) {
    auto array = nlohmann::ordered_json::array();
    for (const Seconds t : list)
        array.push_back(rounded(t.value(), 4));
    return array;
}

int run(const BeatsOptions& options) {
    Console console(options.common.quiet);
    if (auto ok = check_out(options.common.out, {options.recording}); !ok)
        return console.fail(ok.failure());
    BeatSettings settings;
    if (options.tempo) settings.tempo_hint = Tempo(*options.tempo);
    if (options.metre) {
        auto metre = parse_metre(*options.metre);
        if (!metre) return console.fail(metre.failure());
        settings.metre = *metre;
    }
    auto audio = read_span(options.recording, options.span.from, options.span.to, console);
    if (!audio) return console.fail(audio.failure());
    auto followed = follow_beats(*audio, settings, console.work("Following the beats"));
    if (!followed) return console.fail(followed.failure());

    nlohmann::ordered_json result = {{"tempo_bpm", rounded(followed->tempo.value(), 2)},
                                     {"beats_per_bar", followed->metre.beats_per_bar()},
                                     {"metre", to_text(followed->metre)},
                                     {"beats", times(followed->beats)},
                                     {"downbeats", times(followed->downbeat_times())}};
    if (followed->swing_ratio) result["swing_ratio"] = rounded(*followed->swing_ratio, 2);
    auto written = write_result(options.common.out, result.dump() + "\n");
    if (!written) return console.fail(written.failure());
    console.say("If it went half or double time, say --tempo with the right one");
    return exit_done;
}

}  // namespace

void add_beats(CLI::App& app, Run& out) {
    auto options = std::make_shared<BeatsOptions>();
    CLI::App* verb =
        app.add_subcommand("beats", "Where the beats and bars lie, and how they swing");
    verb->add_option("REC", options->recording, "The recording")->required();
    verb->add_option("--tempo", options->tempo,
                     "About this many beats a minute, when it went half or double time")
        ->check(between(30.0, 320.0));
    verb->add_option("--metre", options->metre, "Time signature, where you know it: 3/4, 12/8 ...");
    add_common(*verb, options->common, "the beats (JSON)");
    add_span(*verb, options->span);
    verb->callback([options, &out] { out = [options] { return run(*options); }; });
}

}  // namespace bentline::command
