// Actions on files: open, save, hand out, leave; and the chain of work from a file to its line.
#include <algorithm>
#include <cmath>
#include <system_error>

#include "engine/draft/draft_file.h"
#include "engine/export/midi.h"
#include "engine/notes/pencil.h"
#include "engine/pitch/tracker.h"
#include "ui/window/desk_inside.h"

namespace bentline::window {

namespace {

namespace fs = std::filesystem;

// More of a recording than this is not held in memory at once: at 44.1 kHz, stereo, 420 MB.
constexpr Seconds most_in_memory{20.0 * 60.0};

struct Opened {
    Draft draft;
    std::optional<RecordingInfo> info;
    std::string warning;
};

Result<Opened> open_file(const fs::path& path) {
    Opened opened;
    fs::path sound = path;
    if (kind_of(path) == EntryKind::draft) {
        Result<LoadedDraft> loaded = load_draft(path);
        if (!loaded) return loaded.failure();
        opened.draft = std::move(loaded->draft);
        opened.warning = loaded->warning;
        sound = opened.draft.recording.path;
        if (loaded->found == RecordingFound::missing || sound.empty()) return opened;
    } else {
        Result<RecordingRef> ref = refer_to(path);
        if (!ref) return ref.failure();
        opened.draft.recording = std::move(ref).value();
    }
    const Result<Recording> recording = Recording::open(sound);
    if (recording) {
        opened.info = recording->info();
    } else if (kind_of(path) == EntryKind::draft) {
        opened.warning = recording.failure().sentence;
    } else {
        return recording.failure();
    }
    return opened;
}

}  // namespace

bool Desk::Inside::may_go_on(const Intent& then) {
    if (!state.unsaved) return true;
    pending = then;
    state.overlay = Overlay::guard;
    return false;
}

void Desk::Inside::on(const intents::Open& i) {
    if (i.path.empty()) return refuse("Name the recording or the draft that is to be opened");
    if (!may_go_on(i)) return;
    std::error_code error;
    fs::path path = fs::absolute(i.path, error);
    if (error) path = i.path;
    if (fs::is_directory(path, error)) return look_in(path);
    state.overlay = Overlay::none;
    stop_work();
    if (player) player->core().pause();
    state.play.playing = false;
    pool.start("Opening " + path.filename().string(), [this, path](const Work&) -> Delivery {
        Result<Opened> opened = open_file(path);
        return [this, path, opened = std::move(opened)]() mutable {
            if (!opened) return fail(opened.failure());
            const bool is_draft = kind_of(path) == EntryKind::draft;
            state.notice.reset();
            show_document(std::move(opened->draft), std::move(opened->info));
            state.draft_file = is_draft ? path : fs::path();
            if (!opened->warning.empty()) say(opened->warning);
            auto& recent = state.remembered.recent;
            std::erase(recent, path.string());
            recent.insert(recent.begin(), path.string());
            if (recent.size() > 12) recent.resize(12);
            remember();
        };
    });
}

void Desk::Inside::show_document(Draft draft, std::optional<RecordingInfo> info) {
    history.emplace(std::move(draft));
    state.heard = Heard{};
    state.heard.info = std::move(info);
    audio.reset();
    state.pick.reset();
    state.measured.reset();
    state.taps.clear();
    state.play.loop.reset();
    state.play.at = Seconds(0);
    show_history();
    fit_rows();
    const NoteList& notes = state.draft.notes;
    const Seconds begin = notes.empty() ? Seconds(0) : notes[0].note.onset;
    if (!state.heard.info) {
        // Without the recording the notes say how long it is.
        const Seconds end =
            notes.empty() ? Seconds(10) : notes[notes.size() - 1].note.offset + Seconds(1);
        state.look = {Seconds(0), end};
        state.look = {std::max(Seconds(0), begin - Seconds(0.5)),
                      std::max(Seconds(0), begin - Seconds(0.5)) + Seconds(9)};
        return;
    }
    const Seconds from = std::max(Seconds(0), begin - Seconds(0.5));
    look_at({from, from + Seconds(9)});
    state.play.at = begin;
    SecondsRange part{Seconds(0), state.heard.info->duration()};
    if (state.draft.chorus) {
        part = {std::max(part.from, state.draft.chorus->from - Seconds(5)),
                std::min(part.to, state.draft.chorus->to + Seconds(5))};
    }
    if (part.to - part.from > most_in_memory) {
        part.to = part.from + most_in_memory;
        say("The recording is long: its first 20 minutes are on the desk; loop the chorus above "
            "and press W to take another part");
    }
    read_sound(part);
}

void Desk::Inside::read_sound(SecondsRange part) {
    const fs::path path = state.heard.info->path;
    pool.start(
        "Reading " + path.filename().string(), [this, path, part](const Work& work) -> Delivery {
            const Result<Recording> recording = Recording::open(path);
            if (!recording) return [this, f = recording.failure()] { fail(f); };
            const SampleRate rate = recording->info().rate;
            const FramesRange frames{to_frames(part.from, rate),
                                     std::min(recording->info().frames, to_frames(part.to, rate))};
            Result<Audio> read = recording->read(frames, work.part(0.0, 0.6));
            if (!read) return [this, f = read.failure()] { fail(f); };
            auto sound = std::make_shared<const Audio>(std::move(read).value());
            const bool whole = frames == recording->info().whole();
            Result<Overview> overview = whole ? Result<Overview>(make_overview(*sound))
                                              : make_overview(*recording, work.part(0.6, 1.0));
            if (!overview) return [this, f = overview.failure()] { fail(f); };
            auto drawn = std::make_shared<const Overview>(std::move(overview).value());
            return [this, sound, drawn] {
                audio = sound;
                state.heard.overview = drawn;
                load_player();
                measure_stage();
                follow(state.draft.notes.empty());
            };
        });
}

void Desk::Inside::on(const intents::TakePart& i) {
    if (!history || !state.heard.info)
        return refuse("The recording is not here, so no part of it can be taken");
    const SecondsRange part{std::max(Seconds(0), i.from), std::min(state.duration(), i.to)};
    if (part.to - part.from < Seconds(1))
        return refuse("A part lasts at least a second: loop what is to be lifted first");
    if (part.to - part.from > most_in_memory)
        return refuse("A part lasts at most 20 minutes: loop less of it");
    if (!edit(SetChorus{part})) return;
    set_loop(std::nullopt);
    look_at({part.from, part.from + Seconds(9)});
    read_sound({std::max(Seconds(0), part.from - Seconds(5)),
                std::min(state.duration(), part.to + Seconds(5))});
}

void Desk::Inside::follow(bool with_notes) {
    if (!audio) return;
    pool.start(
        with_notes ? "Following the soloist, pencilling notes" : "Following the soloist",
        [this, with_notes, sound = audio, focus = state.draft.focus](const Work& work) -> Delivery {
            if (!with_notes) {
                Result<PitchCurve> line = track_pitch(*sound, focus, {}, work);
                if (!line) return [this, f = line.failure()] { fail(f); };
                return [this, line = std::move(line).value()]() mutable {
                    take_line(std::move(line));
                };
            }
            Result<Pencilled> found = pencil_notes(*sound, focus, work);
            if (!found) return [this, f = found.failure()] { fail(f); };
            return [this, found = std::move(found).value(), sound]() mutable {
                const Cents tuning = found.curve.tuning;
                take_line(std::move(found.curve));
                if (history->steps() == 0) {
                    // Nothing was done yet: the pencilled draft is where the evening begins.
                    Draft draft = state.draft;
                    draft.tuning = tuning;
                    Result<Draft> made = pencil(std::move(draft), found.notes);
                    if (!made) return fail(made.failure());
                    history.emplace(std::move(made).value());
                    show_history();
                } else {
                    edit(SetTuning{tuning});
                    edit(bentline::Repencil{
                        {sound->start_time(), sound->start_time() + sound->duration()},
                        found.notes});
                }
                fit_rows();
                if (state.draft.notes.empty())
                    return say(
                        "No notes were found: choose the register and the place on the "
                        "stage, then pencil again");
                const Seconds onset = state.draft.notes[0].note.onset;
                if (!state.play.playing && !state.play.loop) {
                    look_at({onset - Seconds(0.5), onset + Seconds(8.5)});
                    if (state.play.at < onset) seek(onset);
                }
            };
        });
}

void Desk::Inside::take_line(PitchCurve line) {
    Decibels loudest(-120);
    for (const PitchPoint& p : line.points) {
        if (p.f0) loudest = std::max(loudest, p.level);
    }
    state.heard.loudest = loudest;
    state.heard.line = std::make_shared<const PitchCurve>(std::move(line));
}

void Desk::Inside::measure_stage() {
    if (!audio) return;
    const SecondsRange span = state.play.loop.value_or(
        SecondsRange{audio->start_time(), audio->start_time() + audio->duration()});
    pool.stop(stage_job);
    stage_job = pool.start("", [this, span, sound = audio](const Work&) -> Delivery {
        auto profile = std::make_shared<const StageProfile>(stage_profile(*sound, span));
        return [this, profile] { state.heard.stage = profile; };
    });
}

void Desk::Inside::on(const intents::Repencil&) {
    if (!audio || !history) return refuse("The recording is not read yet, or not here");
    if (!state.play.loop) return follow(true);
    const SecondsRange loop = *state.play.loop;
    // A second on each side, so that what rings into the loop is known for what it is.
    const SampleRate rate = audio->rate;
    const Frames first =
        std::max(Frames(0), to_frames(loop.from - Seconds(1), rate) - audio->start);
    const Frames last =
        std::min(audio->length(), to_frames(loop.to + Seconds(1), rate) - audio->start);
    if (!(first < last)) return refuse("The loop lies outside the part that is on the desk");
    pool.start(
        "Pencilling the loop again",
        [this, loop, first, last, sound = audio,
         focus = state.draft.focus](const Work& work) -> Delivery {
            Audio part{sound->rate, sound->start + first, {}};
            for (const auto& channel : sound->channels) {
                part.channels.emplace_back(channel.begin() + first.value(),
                                           channel.begin() + last.value());
            }
            Result<Pencilled> found = pencil_notes(part, focus, work);
            if (!found) return [this, f = found.failure()] { fail(f); };
            return [this, loop, found = std::move(found).value()]() mutable {
                if (state.heard.line) {
                    PitchCurve line = *state.heard.line;
                    for (std::size_t i = 0; i < line.points.size(); ++i) {
                        if (!loop.contains(line.time_of(i))) continue;
                        const double at =
                            std::round((line.time_of(i) - found.curve.start) / found.curve.hop);
                        if (at >= 0 && at < static_cast<double>(found.curve.points.size())) {
                            line.points[i] = found.curve.points[static_cast<std::size_t>(at)];
                        }
                    }
                    take_line(std::move(line));
                }
                if (edit(bentline::Repencil{loop, found.notes}))
                    say("The loop is pencilled again; inked notes stayed as they were");
            };
        });
}

void Desk::Inside::on(const intents::Choose& i) {
    if (i.purpose != Purpose::open && !state.open)
        return refuse("Open a recording or a draft first");
    state.chooser.purpose = i.purpose;
    const fs::path sound =
        state.heard.info ? state.heard.info->path : fs::path(state.draft.recording.path);
    const fs::path known = state.draft_file.empty() ? sound : state.draft_file;
    const char* ending = i.purpose == Purpose::midi ? ".mid" : ".bentline";
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
    state.overlay = Overlay::none;
    const std::optional<Intent> then = std::exchange(pending, std::nullopt);
    save_to(i.path, then);
}

void Desk::Inside::save_to(const fs::path& path, std::optional<Intent> then) {
    // An edit made meanwhile is newer than the file; whether there was one, the count of steps
    // tells.
    pool.start("Saving " + path.filename().string(),
               [this, path, then = std::move(then), draft = history->now(),
                step = history->done()](const Work&) -> Delivery {
                   const Result<std::uint64_t> saved = save_draft(draft, path);
                   return [this, path, then, step, saved, draft] {
                       if (!saved) return fail(saved.failure());
                       state.draft_file = path;
                       if (history->done() == step && history->now() == draft)
                           history->mark_saved();
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

void Desk::Inside::on(const intents::Leave& i) {
    if (may_go_on(i)) state.leaving = true;
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
