// bentline finger: string and fret for every note; the guitar and the player's pins are set here.
#include <algorithm>
#include <charconv>
#include <cmath>
#include <memory>

#include <nlohmann/json.hpp>

#include "engine/draft/draft_file.h"
#include "engine/draft/edit.h"
#include "engine/tab/finger_draft.h"
#include "ui/command/guitar_options.h"
#include "ui/command/open_draft.h"
#include "ui/command/options.h"
#include "ui/command/verbs.h"

namespace bentline::command {

namespace {

using Json = nlohmann::ordered_json;

struct FingerOptions {
    Common common;
    std::string draft;
    GuitarOptions guitar;
    std::vector<std::string> pins;   // "7:2.5=3"
    std::vector<std::string> frees;  // "7:2.5"
    std::optional<std::string> from;
    std::optional<std::string> to;
    std::optional<int> ways;
};

Failure refused(const std::string& sentence) {
    return Failure{FailureKind::out_of_range, sentence, {}};
}

// The note that begins nearest to a place that the player named.
Result<NoteId> note_at(const Draft& draft, const std::string& place) {
    constexpr Seconds farthest{0.25};
    const auto time = parse_place(place, draft.bars);
    if (!time) return time.failure();
    const DraftNote* nearest = nullptr;
    const auto away = [&](const DraftNote& n) { return std::abs((n.note.onset - *time).value()); };
    for (const DraftNote& n : draft.notes) {
        if (nearest == nullptr || away(n) < away(*nearest)) nearest = &n;
    }
    if (nearest == nullptr || away(*nearest) > farthest.value()) {
        return refused("no note begins near " + place +
                       "; name the place of one, such as 7:2.5 or its second");
    }
    return nearest->id;
}

// The draft with one more pin: "7:2.5=3" puts the note there on string 3.
Result<Draft> pinned(const Draft& draft, const std::string& text) {
    const auto equals = text.rfind('=');
    int string = 0;
    const char* const end = text.data() + text.size();
    const char* const digits = equals == std::string::npos ? end : text.data() + equals + 1;
    const auto [stop, error] = std::from_chars(digits, end, string);
    if (error != std::errc{} || stop != end || string < 1 || string > draft.neck.strings()) {
        return refused("'" + text + "' is no pin; write a place and a string of the guitar (1 to " +
                       std::to_string(draft.neck.strings()) + "), such as 7:2.5=3");
    }
    const auto id = note_at(draft, text.substr(0, equals));
    if (!id) return id.failure();
    return apply(draft, SetPin{{*id}, Pin{string, {}}});
}

// Guitar and pins as the options say.
Result<Draft> changed(const Draft& before, const FingerOptions& options) {
    Draft draft = before;
    if (options.guitar.any()) {
        auto neck = neck_of(options.guitar, draft.neck);
        if (!neck) return neck.failure();
        auto set = apply(draft, SetNeck{*neck});
        if (!set) return set.failure();
        draft = std::move(set).value();
    }
    for (const std::string& place : options.frees) {
        const auto id = note_at(draft, place);
        if (!id) return id.failure();
        auto set = apply(draft, SetPin{{*id}, std::nullopt});
        if (!set) return set.failure();
        draft = std::move(set).value();
    }
    for (const std::string& pin : options.pins) {
        auto set = pinned(draft, pin);
        if (!set) return set.failure();
        draft = std::move(set).value();
    }
    return draft;
}

Json to_json(const Draft& draft, NoteId id, const FingeredNote& answer) {
    const DraftNote& note = *draft.notes.find(id);
    Json j;
    j["id"] = id.value;
    j["onset_s"] = rounded(note.note.onset.value(), 4);
    if (draft.bars) j["place"] = to_text(draft.bars->position_at(note.note.onset));
    j["midi"] = note.note.key.value();
    if (answer.spot) {
        j["string"] = answer.spot->string;
        j["fret"] = answer.spot->fret;
        j["finger"] = answer.finger;
        j["hand"] = answer.hand;
    } else {
        j["problem"] = answer.problem;
    }
    if (note.pin) j["pinned"] = note.pin->string;
    return j;
}

// The notes of the passage that --from and --to name.
Result<NoteSpan> passage_of(const Draft& draft, const DraftFingering& made,
                            const FingerOptions& options) {
    SecondsRange span{Seconds(-1e9), Seconds(1e9)};
    for (const auto& [text, place] :
         {std::pair{&options.from, &span.from}, std::pair{&options.to, &span.to}}) {
        if (!*text) continue;
        const auto time = parse_place(**text, draft.bars);
        if (!time) return time.failure();
        *place = *time;
    }
    // Players and measurements are early by a hair.
    constexpr Seconds early{0.05};
    const auto before = [&](Seconds t) {
        return static_cast<std::size_t>(
            std::count_if(made.ids.begin(), made.ids.end(),
                          [&](NoteId id) { return draft.notes.find(id)->note.onset + early < t; }));
    };
    const NoteSpan passage{before(span.from), before(span.to)};
    if (passage.last <= passage.first)
        return refused("no note begins from --from to --to; choose a passage with notes");
    return passage;
}

Result<Json> ways_of(const Draft& draft, WhichNotes which, const DraftFingering& made,
                     const FingerOptions& options, const Work& work) {
    const auto passage = passage_of(draft, made, options);
    if (!passage) return passage.failure();
    const auto found =
        find_alternatives(fingering_request(draft, which), *passage, *options.ways, {}, work);
    if (!found) return found.failure();
    Json ways = Json::array();
    for (const Fingering& way : *found) {
        Json notes = Json::array();
        for (std::size_t i = passage->first; i < passage->last; ++i)
            notes.push_back(to_json(draft, made.ids[i], way.notes[i]));
        ways.push_back({{"effort", rounded(way.effort, 3)}, {"notes", std::move(notes)}});
    }
    return ways;
}

int run(const FingerOptions& options) {
    Console console(options.common.quiet);
    auto opened = open_draft(options.draft, console);
    if (!opened) return console.fail(opened.failure());
    if (auto ok = check_out(options.common.out, {options.draft, opened->recording.path}); !ok)
        return console.fail(ok.failure());
    auto draft = changed(*opened, options);
    if (!draft) return console.fail(draft.failure());

    constexpr WhichNotes which = WhichNotes::inked_and_pencilled;
    const auto made = finger_draft(*draft, which, {}, console.work("Fingering"));
    if (!made) return console.fail(made.failure());
    Json out;
    out["guitar"] = to_text(draft->neck);
    out["effort"] = rounded(made->fingering.effort, 3);
    out["left_out"] = made->left_out();
    Json& notes = out["notes"] = Json::array();
    for (std::size_t i = 0; i < made->ids.size(); ++i)
        notes.push_back(to_json(*draft, made->ids[i], made->fingering.notes[i]));
    if (options.ways) {
        auto ways = ways_of(*draft, which, *made, options, console.work("Other ways"));
        if (!ways) return console.fail(ways.failure());
        out["ways"] = std::move(ways).value();
    }
    if (*draft != *opened) {
        if (auto saved = save_draft(*draft, options.draft); !saved)
            return console.fail(saved.failure());
        console.say(options.draft + ": guitar and pins are kept in the draft");
    }
    const auto written = write_result(options.common.out, out.dump(1) + "\n");
    return written ? exit_done : console.fail(written.failure());
}

}  // namespace

void add_finger(CLI::App& app, Run& out) {
    auto options = std::make_shared<FingerOptions>();
    CLI::App* verb =
        app.add_subcommand("finger", "String and fret for every note; sets the guitar and pins");
    verb->add_option("DRAFT", options->draft, "The draft (.bentline)")->required();
    add_guitar(*verb, options->guitar);
    verb->add_option("--pin", options->pins,
                     "Keep the note at a place on a string: 7:2.5=3; may be said again")
        ->type_name("PLACE=STRING");
    verb->add_option("--free", options->frees, "Take the pin off the note at a place")
        ->type_name("PLACE");
    auto* ways = verb->add_option("--ways", options->ways,
                                  "Also the best 1 to 3 really different ways to play a passage")
                     ->check(CLI::Range(1, 3));
    verb->add_option("--from", options->from, "Where the passage begins: 5:1 or seconds")
        ->type_name("PLACE")
        ->needs(ways);
    verb->add_option("--to", options->to, "Where it ends")->type_name("PLACE")->needs(ways);
    add_common(*verb, options->common, "the fingering (JSON)");
    verb->callback([options, &out] { out = [options] { return run(*options); }; });
}

}  // namespace bentline::command
