// Loads a draft and says what there is to say about its recording; reads places in it.
#include "ui/command/open_draft.h"

#include <algorithm>

#include "engine/draft/edit.h"

namespace bentline::command {

namespace {

constexpr Seconds before_everything{-1e6};
constexpr Seconds after_everything{1e6};

Result<Seconds> place_or(const std::optional<std::string>& typed, Seconds open, const Draft& draft,
                         bool early_too) {
    if (!typed) return open;
    auto place = parse_place(*typed, draft.bars);
    if (!place) return place.failure();
    const bool counted = typed->find(':') != std::string::npos;
    if (!counted || !early_too) return place;
    return draft.bars->time_of(draft.bars->beats_at(*place) - early);
}

Result<SecondsRange> read_part(const Draft& draft, const Part& part, bool early_too) {
    const auto from = place_or(part.from, before_everything, draft, early_too);
    if (!from) return from.failure();
    const auto to = place_or(part.to, after_everything, draft, early_too);
    if (!to) return to.failure();
    if (!(*from < *to)) {
        return Failure{FailureKind::out_of_range,
                       "--from " + part.from.value_or("the start") + " does not lie before --to " +
                           part.to.value_or("the end") + ": give the earlier place first",
                       {}};
    }
    return SecondsRange{*from, *to};
}

}  // namespace

Result<Draft> open_draft(const std::filesystem::path& path, Console& console) {
    auto loaded = load_draft(path);
    if (!loaded) return loaded.failure();
    if (!loaded->warning.empty()) console.say(loaded->warning);
    return std::move(loaded->draft);
}

void add_part(CLI::App& verb, Part& part) {
    verb.add_option("--from", part.from, "Start here: seconds, or bar:beat, such as 5:1")
        ->type_name("PLACE");
    verb.add_option("--to", part.to, "End here: seconds, or bar:beat, such as 9:1")
        ->type_name("PLACE");
}

Result<SecondsRange> span_of_part(const Draft& draft, const Part& part) {
    auto span = read_part(draft, part, false);
    if (!span) return span;
    Seconds first(0.0);
    Seconds last(0.0);
    for (const DraftNote& n : draft.notes)
        last = std::max(last, n.note.offset);
    if (draft.chorus) {
        first = draft.chorus->from;
        last = std::max(last, draft.chorus->to);
    }
    if (!part.from) span->from = std::min(first, span->to);
    if (!part.to) span->to = std::max(last, span->from);
    return span;
}

Result<std::vector<NoteId>> notes_of_part(const Draft& draft, const Part& part) {
    const auto span = read_part(draft, part, true);
    if (!span) return span.failure();
    return draft.notes.ids_within(*span);
}

Result<Draft> only_part(const Draft& draft, const Part& part) {
    const auto kept = notes_of_part(draft, part);
    if (!kept) return kept.failure();
    if (kept->empty() && !part.whole()) {
        return Failure{FailureKind::out_of_range,
                       "no note begins from " + part.from.value_or("the start") + " to " +
                           part.to.value_or("the end") + ": choose a part with notes",
                       {}};
    }
    std::vector<NoteId> others;
    for (const DraftNote& n : draft.notes) {
        if (std::find(kept->begin(), kept->end(), n.id) == kept->end()) others.push_back(n.id);
    }
    if (others.empty()) return draft;
    return apply(draft, Discard{others});
}

}  // namespace bentline::command
