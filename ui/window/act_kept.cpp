// The crash journal: what is written down at every edit, and what is done with what it kept.
#include <algorithm>
#include <utility>

#include "ui/window/desk_inside.h"

namespace bentline::window {

std::filesystem::path Desk::Inside::unsaved_folder() const {
    if (!settings.journal || settings.remember.empty()) return {};
    return settings.remember.parent_path() / "unsaved";
}

void Desk::Inside::begin_journal(const std::vector<Change>& recovered) {
    if (!settings.journal) return;
    if (!state.draft_file.empty()) {
        keeper.begin(state.draft_file, mark, recovered);
        journal_begun = true;
    } else if (!unsaved_folder().empty() && !recovered.empty()) {
        keeper.begin(unsaved_base(unsaved_folder(), state.draft.recording), mark, recovered, true);
        journal_begun = true;
    }
}

void Desk::Inside::end_journal() {
    keeper.remove();
    journal_begun = false;
}

void Desk::Inside::keep(const Draft& before, const Change& change) {
    if (!settings.journal) return;
    if (!journal_begun && state.draft_file.empty() && !unsaved_folder().empty()) {
        keeper.begin_unsaved(unsaved_base(unsaved_folder(), before.recording), before);
        journal_begun = true;
    }
    if (journal_begun) keeper.append(change);
}

void Desk::Inside::step_back() {
    const Draft before = history->now();
    riding.reset();
    history->undo();
    keep(before, reversed(history->step(history->done())));
}

void Desk::Inside::step_on() {
    const Draft before = history->now();
    riding.reset();
    history->redo();
    keep(before, history->step(history->done() - 1));
}

void Desk::Inside::offer_kept(std::vector<Change> changes, bool cut_off) {
    constexpr std::size_t words_shown = 6;
    state.kept.reset();
    kept_changes = std::move(changes);
    if (kept_changes.empty()) return begin_journal();
    Kept kept;
    kept.edits = kept_changes.size();
    kept.cut_off = cut_off;
    for (std::size_t i = kept.edits - std::min(words_shown, kept.edits); i < kept.edits; ++i)
        kept.last_words.push_back(kept_changes[i].words);
    state.kept = std::move(kept);
    state.overlay = Overlay::recovery;
}

void Desk::Inside::on(const intents::Recover& i) {
    if (!state.kept) return refuse("There is nothing that was kept from last time");
    state.kept.reset();
    state.overlay = Overlay::none;
    const std::vector<Change> changes = std::exchange(kept_changes, {});
    begin_journal(changes);
    if (!i.take) {
        end_journal();
        begin_journal();
        return say("What was kept is thrown away; the draft is as it was saved");
    }
    for (const Change& change : changes) {
        if (const Result<Done> done = history->replay(change); !done) return fail(done.failure());
    }
    show_history();
    say(std::to_string(changes.size()) +
        (changes.size() == 1 ? " change is back" : " changes are back") +
        "; undo takes them away one by one");
}

}  // namespace bentline::window
