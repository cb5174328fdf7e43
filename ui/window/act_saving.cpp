// Choosing files, saving, handing out, leaving.
#include <system_error>
#include <utility>

#include "engine/draft/draft_file.h"
#include "engine/ending.h"
#include "engine/export/handout.h"
#include "engine/export/midi.h"
#include "engine/lesson/lesson_html.h"
#include "engine/recording/atomic_file.h"
#include "engine/recording/recording.h"
#include "ui/window/desk_inside.h"

namespace bentline::window {

namespace fs = std::filesystem;

void Desk::Inside::on(const intents::Choose& i) {
    if (i.purpose != Purpose::open && !state.open)
        return refuse("Open a recording or a draft first");
    state.chooser.purpose = i.purpose;
    state.chooser.asked_about.clear();
    const fs::path sound =
        state.heard.info ? state.heard.info->path : fs::path(state.draft.recording.path);
    const fs::path known = state.draft_file.empty() ? sound : state.draft_file;
    const std::string ending = ending_of(i.purpose);
    state.chooser.name = i.purpose == Purpose::open ? "" : known.stem().string() + ending;
    fs::path folder = known.parent_path();
    if (folder.empty() && !state.remembered.recent.empty())
        folder = fs::path(state.remembered.recent.front()).parent_path();
    std::error_code error;
    if (folder.empty() || !fs::is_directory(folder, error)) folder = fs::current_path(error);
    look_in(folder);
}

void Desk::Inside::on(const intents::LookIn& i) {
    look_in(i.folder);
}

void Desk::Inside::on(const intents::LookAtFile& i) {
    const fs::path file = i.path;
    if (state.chooser.preview.file == file) return;
    pool.stop(preview_job);
    state.chooser.preview = Preview{};
    state.chooser.preview.file = file;
    preview_job = pool.start("", [this, file](const Work&) -> Delivery {
        return [this, preview = look_at_file(file), file] {
            state.chooser.preview = preview;
            if (kind_of(file) != EntryKind::recording) return;
            preview_job = pool.start(
                "",
                [this, file](const Work& work) -> Delivery {
                    const Result<Recording> recording = Recording::open(file);
                    if (!recording) return {};
                    Result<Overview> overview = make_overview(*recording, work);
                    if (!overview) return {};
                    auto drawn = std::make_shared<const Overview>(std::move(overview).value());
                    return [this, file, drawn] {
                        if (state.chooser.preview.file == file)
                            state.chooser.preview.overview = drawn;
                    };
                },
                Pace::patient);
        };
    });
}

void Desk::Inside::look_in(const fs::path& folder) {
    state.overlay = Overlay::chooser;
    pool.start("", [this, folder](const Work&) -> Delivery {
        Result<std::vector<Entry>> entries = list_folder(folder);
        return [this, folder, entries = std::move(entries)]() mutable {
            state.chooser.folder = folder;
            state.chooser.trouble = entries ? "" : entries.failure().sentence;
            state.chooser.entries = entries ? std::move(entries).value() : std::vector<Entry>{};
        };
    });
}

void Desk::Inside::on(const intents::Save&) {
    if (!state.open) return refuse("There is nothing to save yet");
    if (state.draft_file.empty()) {
        // Beside the recording, under its name; where that is taken, the player chooses.
        fs::path beside = state.heard.info ? state.heard.info->path : fs::path();
        beside.replace_extension(".bentline");
        std::error_code error;
        if (beside.empty() || fs::exists(beside, error)) return on(intents::Choose{Purpose::save});
        return save_to(beside, std::nullopt);
    }
    save_to(state.draft_file, std::nullopt);
}

void Desk::Inside::on(const intents::SaveAs& i) {
    if (!state.open) return refuse("There is nothing to save yet");
    // Another evening's work goes only when it is named twice.
    std::error_code error;
    const bool another =
        fs::exists(i.path, error) && !fs::equivalent(i.path, state.draft_file, error);
    if (another && state.chooser.asked_about != fs::path(i.path)) {
        state.chooser.asked_about = i.path;
        return refuse(fs::path(i.path).filename().string() +
                      " is another draft that is there already: save under this name once more to "
                      "replace it, or choose another name");
    }
    state.chooser.asked_about.clear();
    state.overlay = Overlay::none;
    const std::optional<Intent> then = std::exchange(pending, std::nullopt);
    save_to(i.path, then);
}

void Desk::Inside::save_to(const fs::path& path, std::optional<Intent> then) {
    // An edit made meanwhile is newer than the file.
    pool.start(
        "Saving " + path.filename().string(),
        [this, path, then = std::move(then), draft = history->now()](const Work&) -> Delivery {
            const Result<std::uint64_t> saved = save_draft(draft, path);
            return [this, path, then, saved, draft] {
                if (!saved) return fail(saved.failure());
                end_journal();
                state.draft_file = path;
                mark = *saved;
                begin_journal();
                put_first(path);
                keep_place();
                remember();
                if (history->now() == draft) {
                    history->mark_saved();
                } else {
                    history->mark_saved_aside();
                    keeper.append(difference(draft, history->now(), "while it was saved"));
                }
                show_history();
                say("Saved as " + path.filename().string());
                if (then) on(intents::Show{Overlay::none});
                if (then) std::visit([this](const auto& i) { on(i); }, *then);
            };
        });
}

void Desk::Inside::on(const intents::ExportMidi& i) {
    if (!state.open) return refuse("There is nothing to hand out yet");
    state.overlay = Overlay::none;
    const auto which = i.pencilled ? WhichNotes::inked_and_pencilled : WhichNotes::inked;
    const std::size_t count = select_notes(state.draft, which).size();
    if (count == 0)
        return refuse("No note is inked yet, so there is nothing to hand out: ink some first");
    pool.start("Writing " + fs::path(i.path).filename().string(),
               [this, i, which, count, draft = state.draft](const Work&) -> Delivery {
                   MidiSettings midi;
                   midi.plain = i.plain;
                   midi.which = which;
                   const Result<Done> outcome = export_midi(draft, i.path, midi);
                   return [this, i, count, outcome] {
                       if (!outcome) return fail(outcome.failure());
                       say(std::to_string(count) + " notes are in " +
                           fs::path(i.path).filename().string() +
                           ". Check the rights before you hand it out");
                   };
               });
}

void Desk::Inside::on(const intents::HandOut& i) {
    if (!state.open) return refuse("There is nothing to hand out yet");
    state.overlay = Overlay::none;
    // A name that ends in a slash is a folder's, whatever dots are in it.
    const bool folder = !i.path.empty() && i.path.back() == '/';
    const fs::path path = folder ? fs::path(i.path).parent_path() : fs::path(i.path);
    const std::string ending = folder ? "" : small_ending(path);
    Handout handout;
    handout.which = i.pencilled ? WhichNotes::inked_and_pencilled : WhichNotes::inked;
    handout.plain = i.plain;
    handout.overwrite = true;  // the name was chosen
    if (ending == ".mid" || ending == ".midi") {
        handout.midi = path;
    } else if (ending == ".csv") {
        handout.csv = path;
    } else if (ending == ".pdf" || ending == ".svg") {
        handout.sheet = path;
    } else if (ending == ".musicxml") {
        handout.musicxml = path;
    } else if (ending == ".txt") {
        handout.text_tab = path;
    } else if (ending.empty()) {
        handout.clips = path;
    } else if (ending != ".html") {
        return refuse("Nothing is handed out as " + ending +
                      ": choose .mid, .musicxml, .csv, .pdf, .svg, .txt or .html");
    }
    if (select_notes(state.draft, handout.which).empty())
        return refuse("No note is inked yet, so there is nothing to hand out: ink some first");
    if (ending == ".html") return write_lesson(path, handout.which);
    pool.start("Writing " + path.filename().string(),
               [this, handout, draft = state.draft](const Work& work) -> Delivery {
                   const Result<std::vector<HandedOut>> done = hand_out(draft, handout, work);
                   return [this, done] {
                       if (!done) return fail(done.failure());
                       std::string words;
                       for (const HandedOut& one : *done) {
                           words += (words.empty() ? "" : "; ") + one.path.filename().string() +
                                    " holds " + one.what;
                       }
                       say(words + ". Check the rights before you hand it out");
                   };
               });
}

void Desk::Inside::write_lesson(const fs::path& path, WhichNotes which) {
    pool.start("Writing " + path.filename().string(),
               [this, path, which, draft = state.draft](const Work&) -> Delivery {
                   const Result<Done> made = write_file(path, lesson_html(draft, which));
                   return [this, path, made] {
                       if (!made) return fail(made.failure());
                       say(path.filename().string() +
                           " holds the lesson sheet. Check the rights before you hand it out");
                   };
               });
}

void Desk::Inside::on(const intents::Leave& i) {
    if (!may_go_on(i)) return;
    keep_place();
    end_journal();
    state.leaving = true;
}

void Desk::Inside::on(const intents::Unsaved& i) {
    if (!pending) {
        state.overlay = Overlay::none;
        return;
    }
    if (i.answer == Answer::stay) {
        pending.reset();
        state.overlay = Overlay::none;
    } else if (i.answer == Answer::drop) {
        state.unsaved = false;
        state.overlay = Overlay::none;
        const Intent then = *std::exchange(pending, std::nullopt);
        std::visit([this](const auto& next) { on(next); }, then);
    } else if (state.draft_file.empty()) {
        on(intents::Choose{Purpose::save});  // what is pending goes on once it is saved
    } else {
        state.overlay = Overlay::none;
        save_to(state.draft_file, std::exchange(pending, std::nullopt));
    }
}

}  // namespace bentline::window
