// bentline bars: mends the bars of a draft; no note moves in time.
#include <algorithm>
#include <cmath>
#include <memory>

#include "engine/bars/bar_edits.h"
#include "engine/bars/choruses.h"
#include "engine/draft/bar_one.h"
#include "engine/draft/draft_file.h"
#include "engine/draft/edit.h"
#include "ui/command/open_draft.h"
#include "ui/command/options.h"
#include "ui/command/verbs.h"

namespace bentline::command {

namespace {

struct BarsOptions {
    Common common;
    std::string draft;
    bool double_time = false;
    bool half_time = false;
    std::optional<std::string> beat;  // "7:2=12.34"
    std::optional<std::string> bar_one;
    std::optional<int> pickup;
    std::optional<int> insert;
    std::optional<int> drop;
    std::optional<std::string> bar_metre;  // "5=2/4"
    std::optional<std::string> free;       // "3-4"
    std::optional<std::string> pulse;
    std::optional<std::string> form;
    std::optional<int> times;
    std::optional<std::string> key;
};

Failure refused(const std::string& sentence) {
    return {FailureKind::out_of_range, sentence, {}};
}

// "5=2/4": what stands on either side.
Result<std::pair<std::string, std::string>> both_sides(const std::string& text,
                                                       const std::string& example) {
    const auto equals = text.find('=');
    if (equals == std::string::npos || equals == 0 || equals + 1 == text.size())
        return refused("'" + text + "' is not understood: write it like " + example);
    return std::pair(text.substr(0, equals), text.substr(equals + 1));
}

// "7:2=12.34": that beat is heard at that time.
Result<BarMap> with_beat(const BarMap& map, const std::string& text) {
    auto sides = both_sides(text, "7:2=12.34");
    if (!sides) return sides.failure();
    const auto beat = parse_bar_beat(sides->first);
    if (!beat) return beat.failure();
    const double at = map.beats_of(*beat).value();
    if (at != std::round(at))
        return refused("'" + sides->first + "' is between two beats: name a beat, such as 7:2");
    const auto to = parse_place(sides->second, std::nullopt);
    if (!to) return to.failure();
    return drag_beat(map, static_cast<int>(at), *to);
}

Result<BarMap> with_bar_metre(const BarMap& map, const std::string& text) {
    auto sides = both_sides(text, "5=2/4");
    if (!sides) return sides.failure();
    const auto bar = whole_number(sides->first);
    if (!bar) return refused("'" + sides->first + "' is no bar: write it like 5=2/4");
    const auto metre = parse_metre(sides->second);
    if (!metre) return metre.failure();
    return set_bar_metre(map, *bar, *metre);
}

Result<BarMap> with_free(const BarMap& map, const std::string& text, bool free) {
    const auto bars = bars_named(text);
    if (!bars) return refused("'" + text + "' are no bars: write 7 or 3-4");
    return set_free(map, *bars, free);
}

// The edits of the map in the order in which the help lists them.
Result<BarMap> mended(BarMap map, const BarsOptions& o) {
    Result<BarMap> now = std::move(map);
    const auto then = [&](bool asked, const auto& edit) {
        if (now && asked) now = edit(BarMap(*now));
    };
    then(o.double_time, [](const BarMap& m) { return double_time(m); });
    then(o.half_time, [](const BarMap& m) { return half_time(m); });
    then(o.beat.has_value(), [&](const BarMap& m) { return with_beat(m, *o.beat); });
    then(o.bar_one.has_value(), [&](const BarMap& m) -> Result<BarMap> {
        const auto place = parse_place(*o.bar_one, m);
        return place ? bar_one_here(m, *place) : Result<BarMap>(place.failure());
    });
    then(o.pickup.has_value(), [&](const BarMap& m) { return m.with_pickup(*o.pickup); });
    then(o.insert.has_value(), [&](const BarMap& m) { return insert_bar(m, *o.insert); });
    then(o.drop.has_value(), [&](const BarMap& m) { return drop_bar(m, *o.drop); });
    then(o.bar_metre.has_value(), [&](const BarMap& m) { return with_bar_metre(m, *o.bar_metre); });
    then(o.free.has_value(), [&](const BarMap& m) { return with_free(m, *o.free, true); });
    then(o.pulse.has_value(), [&](const BarMap& m) { return with_free(m, *o.pulse, false); });
    return now;
}

// The form, and the chords over it, that many times over.
Result<Draft> played_again(const Draft& draft, int times) {
    if (draft.form.empty())
        return refused("The draft has no form to play again: say --form AABA first");
    const auto chords = chords_of_choruses(draft.chords, {draft.form, times});
    auto again = apply(draft, SetForm{repeated(draft.form, times)});
    if (again && chords != draft.chords) again = apply(*again, SetChords{chords});
    return again;
}

Result<Draft> changed(Draft draft, const BarsOptions& o) {
    const bool of_map = o.double_time || o.half_time || o.beat || o.bar_one || o.pickup ||
                        o.insert || o.drop || o.bar_metre || o.free || o.pulse;
    if (of_map && !draft.bars)
        return refused(
            "The draft has no bars to mend: draft it with --tempo and --bar-one, or with "
            "--beats");
    Result<Draft> now = std::move(draft);
    if (of_map) {
        auto map = mended(*now->bars, o);
        if (!map) return map.failure();
        if (auto ok = check_bar_one(*map, span_of_music(*now)); !ok) return ok.failure();
        now = apply(*now, SetBars{*map, ""});
    }
    if (now && o.form) {
        auto form = parse_played_form(*o.form);
        if (!form) return form.failure();
        now = apply(*now, SetForm{with_keys_of(form->once, now->form)});
        if (now && form->times > 1) now = played_again(*now, form->times);
    }
    if (now && o.times) now = played_again(*now, *o.times);
    if (now && o.key) {
        auto keys = parse_keys(*o.key, now->form);
        if (!keys) return keys.failure();
        now = apply(*now, SetKeys{*keys});
    }
    return now;
}

int run(const BarsOptions& options) {
    Console console(options.common.quiet);
    auto draft = open_draft(options.draft, console);
    if (!draft) return console.fail(draft.failure());
    auto mended_draft = changed(*draft, options);
    if (!mended_draft) return console.fail(mended_draft.failure());
    const auto out = options.common.out.value_or(options.draft);
    auto saved = save_draft(*mended_draft, out);
    if (!saved) return console.fail(saved.failure());
    std::string words = "No bars";
    if (mended_draft->bars) {
        const BarMap& map = *mended_draft->bars;
        words = "Bar 1 at " + fixed(map.time_of(Beats(0.0)).value(), 3) + " s in " +
                to_text(map.metre()) + ", " + fixed(map.tempo_at(Beats(0.0)).value(), 1) +
                " beats a minute there";
    }
    if (!mended_draft->form.empty()) words += ", form " + to_text(mended_draft->form);
    if (mended_draft->key) words += ", " + to_text(mended_draft->keys());
    console.say(words + ": " + out.string());
    return exit_done;
}

}  // namespace

void add_bars(CLI::App& app, Run& out) {
    auto options = std::make_shared<BarsOptions>();
    CLI::App* verb =
        app.add_subcommand("bars", "Mend the bars of a draft: its notes stay where they are");
    verb->add_option("DRAFT", options->draft, "The draft (.bentline)")->required();
    auto* twice = verb->add_flag("--double-time", options->double_time,
                                 "Twice as many beats: the tempo was taken for half");
    verb->add_flag("--half-time", options->half_time, "Half as many")->excludes(twice);
    verb->add_option("--beat", options->beat, "Put one beat elsewhere: 7:2=12.34")
        ->type_name("BAR:BEAT=S");
    verb->add_option("--bar-one", options->bar_one,
                     "The beat nearest to this place begins bar 1: seconds or bar:beat")
        ->type_name("PLACE");
    verb->add_option("--pickup", options->pickup, "Beats before bar 1 that belong to the tune")
        ->check(CLI::Range(0, 32));
    verb->add_option("--insert-bar", options->insert, "This bar is two: one too few was counted")
        ->type_name("BAR");
    verb->add_option("--drop-bar", options->drop,
                     "This bar and the next are one: one too many was counted")
        ->type_name("BAR");
    verb->add_option("--bar-metre", options->bar_metre, "One bar of another metre: 5=2/4")
        ->type_name("BAR=METRE");
    verb->add_option("--without-pulse", options->free, "Bars of a rubato: 3-4")->type_name("A-B");
    verb->add_option("--with-pulse", options->pulse, "Give bars their pulse again")
        ->type_name("A-B");
    verb->add_option("--form", options->form, "Section letters: AABA, A12, A16B8, \"AABA x3\"");
    verb->add_option("--times", options->times, "The form and its chords so many times over")
        ->check(CLI::Range(1, most_choruses));
    verb->add_option("--key", options->key, "Key, with sections in another: \"Eb, B in Ab\"");
    add_common(*verb, options->common, "the mended draft, in place of the draft itself,");
    verb->callback([options, &out] { out = [options] { return run(*options); }; });
}

}  // namespace bentline::command
