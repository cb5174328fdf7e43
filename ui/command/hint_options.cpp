// Reads what the player knows.
#include "ui/command/hint_options.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <string_view>

#include "engine/draft/draft_file.h"
#include "engine/draft/draft_hints.h"
#include "engine/draft/note_json.h"
#include "engine/ending.h"
#include "ui/command/console.h"
#include "ui/command/options.h"

namespace bentline::command {

namespace {

std::optional<double> number_in(std::string_view text) {
    double value = 0.0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc{} || end != text.data() + text.size() || !std::isfinite(value))
        return std::nullopt;
    return value;
}

// "12.3" or "12.3@Eb4".
std::string read_note_at(const std::string& text, Hints& hints) {
    const auto at = text.find('@');
    const auto time = number_in(std::string_view(text).substr(0, at));
    NoteHere here;
    bool good = time.has_value() && *time >= 0.0;
    if (at != std::string::npos) {
        here.key = key_named(text.substr(at + 1));
        good = good && here.key.has_value();
    }
    if (!good)
        return "'" + text + "' is no place of a note: write seconds, or seconds@note: 12.3@Eb4";
    here.at = Seconds(*time);
    hints.here.push_back(here);
    return {};
}

// "12.1-12.4@D4".
std::string read_no_note(const std::string& text, Hints& hints) {
    const auto dash = text.find('-');
    const auto at = text.find('@');
    if (dash != std::string::npos && at != std::string::npos && dash < at) {
        const auto from = number_in(std::string_view(text).substr(0, dash));
        const auto to = number_in(std::string_view(text).substr(dash + 1, at - dash - 1));
        const auto key = key_named(text.substr(at + 1));
        if (from && to && key && *from < *to) {
            hints.not_these.push_back({{Seconds(*from), Seconds(*to)}, *key});
            return {};
        }
    }
    return "'" + text + "' is no span of a note: write from-to@note, like 12.1-12.4@D4";
}

Failure no_notes(const std::string& path, const std::string& why) {
    return {FailureKind::bad_draft,
            path + " holds no notes that can be read (" + why +
                "): give a draft, or a file that the verb notes wrote",
            {}};
}

struct Known {
    std::vector<Note> notes;
    std::optional<Cents> tuning;
};

Result<Known> read_known(const std::string& path) {
    if (small_ending(path) == draft_extension) {
        auto loaded = load_draft(path);
        if (!loaded) return loaded.failure();
        const Draft& draft = loaded->draft;
        Known known{select_notes(draft, WhichNotes::inked), std::nullopt};
        if (!draft.notes.empty()) known.tuning = draft.tuning;
        return known;
    }
    auto text = read_text(path);
    if (!text) return text.failure();
    const Json json = Json::parse(*text, nullptr, false);
    if (!json.is_object() || !json.contains("notes") || !json["notes"].is_array())
        return no_notes(path, "no list of notes");
    Known known;
    if (json.contains("tuning_cents") && json["tuning_cents"].is_number())
        known.tuning = Cents(json["tuning_cents"].get<double>());
    std::vector<DraftNote> list;
    try {
        for (std::size_t i = 0; i < json["notes"].size(); ++i) {
            Fields fields(json["notes"][i], element("notes", i));
            Json unknown = Json::array();
            DraftNote n;
            n.id = NoteId{static_cast<std::uint32_t>(i + 1)};
            n.note = read_note(fields, unknown);
            list.push_back(std::move(n));
        }
    } catch (const Misfit& m) {
        return no_notes(path, m.place + " " + m.sentence);
    }
    auto checked = NoteList::make(std::move(list));
    if (!checked) return no_notes(path, checked.failure().sentence);
    for (const DraftNote& n : *checked)
        known.notes.push_back(n.note);
    return known;
}

}  // namespace

void add_hints(CLI::App& verb, HintOptions& options) {
    verb.add_option("--known", options.known,
                    "Notes that are certain: a draft (its inked notes) or a file of notes; they "
                    "stay as they are and tell who the soloist is")
        ->type_name("FILE");
    verb.add_option_function<std::vector<std::string>>(
            "--note-at",
            [&options](const std::vector<std::string>& all) {
                for (const std::string& text : all) {
                    const std::string wrong = read_note_at(text, options.typed);
                    if (!wrong.empty()) throw CLI::ValidationError("--note-at", wrong);
                }
            },
            "There is a note here: seconds, or seconds@note; may be given again")
        ->type_name("S[@NOTE]");
    verb.add_option_function<std::vector<std::string>>(
            "--no-note",
            [&options](const std::vector<std::string>& all) {
                for (const std::string& text : all) {
                    const std::string wrong = read_no_note(text, options.typed);
                    if (!wrong.empty()) throw CLI::ValidationError("--no-note", wrong);
                }
            },
            "What sounds at this pitch in this span is not the soloist; may be given again")
        ->type_name("S-S@NOTE");
}

Result<Hints> read_hints(const HintOptions& options, const std::optional<BarMap>& bars,
                         SecondsRange span) {
    Hints hints = options.typed;
    if (options.known) {
        auto known = read_known(*options.known);
        if (!known) return known.failure();
        hints.inked = std::move(known->notes);
        hints.tuning = known->tuning;
        std::erase_if(hints.inked,
                      [span](const Note& n) { return n.onset < span.from || n.offset > span.to; });
    }
    if (bars) {
        Draft only_bars;
        only_bars.bars = bars;
        hints.beats = hints_of(only_bars, span).beats;
    }
    return hints;
}

}  // namespace bentline::command
