// Opening a file, and the chain of work from it to its line and its notes.
#include <algorithm>
#include <system_error>
#include <utility>

#include "engine/draft/draft_file.h"
#include "ui/window/beside.h"
#include "ui/window/desk_inside.h"

namespace bentline::window {

namespace {

namespace fs = std::filesystem;

// Read before the rest, to be heard at once: enough to listen to at twice the speed while twenty
// minutes are read; a loop around the place with it, if it is no longer than this.
constexpr Seconds heard_first{12.0};
constexpr Seconds longest_heard_first{40.0};

// More of a recording than this is not held in memory at once: at 44.1 kHz, stereo, 420 MB.
constexpr Seconds most_in_memory{20.0 * 60.0};

struct Opened {
    Draft draft;
    std::optional<RecordingInfo> info;
    std::string warning;
    bool recording_wanted = false;
    fs::path file;           // of the draft; empty: it has none yet
    std::uint64_t mark = 0;  // of that file
    std::vector<Change> kept;
    bool cut_off = false;
};

// Takes up what a journal beside `file` kept of the draft that was just loaded from it.
void look_for_kept(Opened& opened, const fs::path& file) {
    Recovered found = recover(file, opened.draft, opened.mark);
    opened.kept = std::move(found.changes);
    opened.cut_off = found.cut_off;
}

// unsaved: where drafts without a file are kept until they have one. journal: is it kept at all?
Result<Opened> open_file(const fs::path& path, const fs::path& unsaved, bool journal) {
    Opened opened;
    fs::path sound = path;
    if (kind_of(path) == EntryKind::draft) {
        Result<LoadedDraft> loaded = load_draft(path);
        if (!loaded) return loaded.failure();
        opened.draft = std::move(loaded->draft);
        opened.warning = loaded->warning;
        opened.recording_wanted =
            loaded->found == RecordingFound::missing || loaded->found == RecordingFound::changed;
        opened.file = path;
        opened.mark = loaded->mark;
        if (journal) look_for_kept(opened, path);
        sound = opened.draft.recording.path;
        if (loaded->found == RecordingFound::missing || sound.empty()) return opened;
    } else {
        Result<RecordingRef> ref = refer_to(path);
        if (!ref) return ref.failure();
        opened.draft.recording = std::move(ref).value();
        take_what_lies_beside(opened.draft, path);
        const fs::path base = unsaved_base(unsaved, opened.draft.recording);
        std::error_code error;
        if (!unsaved.empty() && fs::exists(base, error)) {
            Result<LoadedDraft> loaded = load_draft(base);
            Opened kept{opened};
            if (loaded) {
                kept.draft = std::move(loaded->draft);
                kept.mark = loaded->mark;
                look_for_kept(kept, base);
            }
            if (!kept.kept.empty()) opened = std::move(kept);
        }
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

void Desk::Inside::keep_place() {
    if (!state.open || !state.heard.info) return;
    const std::string file =
        (state.draft_file.empty() ? state.heard.info->path : state.draft_file).string();
    const PlayState& p = state.play;
    state.remembered.places[file] = {p.at.value(),
                                     state.look.from.value(),
                                     state.look.to.value(),
                                     p.loop ? p.loop->from.value() : 0.0,
                                     p.loop ? p.loop->to.value() : 0.0,
                                     p.speed};
    std::erase_if(state.remembered.places, [&](const auto& place) {
        const auto& recent = state.remembered.recent;
        return place.first != file &&
               std::find(recent.begin(), recent.end(), place.first) == recent.end();
    });
}

void Desk::Inside::find_place() {
    if (!state.heard.info) return;
    const auto found = state.remembered.places.find(
        (state.draft_file.empty() ? state.heard.info->path : state.draft_file).string());
    if (found == state.remembered.places.end()) return;
    const Place& p = found->second;
    const Seconds end = state.duration();
    if (p.loop_from_s < p.loop_to_s && Seconds(p.loop_to_s) <= end)
        set_loop(SecondsRange{Seconds(p.loop_from_s), Seconds(p.loop_to_s)});
    if (p.look_from_s < p.look_to_s) look_at({Seconds(p.look_from_s), Seconds(p.look_to_s)});
    seek(Seconds(p.at_s));
    on(intents::SetSpeed{p.speed});
}

void Desk::Inside::put_first(const fs::path& file) {
    constexpr std::size_t most_recent = 12;
    auto& recent = state.remembered.recent;
    std::erase(recent, file.string());
    recent.insert(recent.begin(), file.string());
    if (recent.size() > most_recent) recent.resize(most_recent);
}

void Desk::Inside::on(const intents::Open& i) {
    if (i.path.empty()) return refuse("Name the recording or the draft that is to be opened");
    std::error_code error;
    fs::path path = fs::absolute(i.path, error);
    if (error) path = i.path;
    if (fs::is_directory(path, error)) return look_in(path);
    if (recording_wanted && state.draft.recording.fingerprint &&
        kind_of(path) == EntryKind::recording) {
        return open_or_find(path);
    }
    open(path);
}

void Desk::Inside::open_or_find(const fs::path& path) {
    state.overlay = Overlay::none;
    pool.start("Looking at " + path.filename().string(), [this, path](const Work&) -> Delivery {
        const Result<RecordingRef> ref = refer_to(path);
        const Result<Recording> recording = Recording::open(path);
        if (!ref || !recording) return [this, path] { open(path); };
        return [this, path, ref = *ref, info = recording->info()] {
            if (ref.fingerprint != state.draft.recording.fingerprint) return open(path);
            take_recording(ref, info);
        };
    });
}

void Desk::Inside::take_recording(const RecordingRef& ref, const RecordingInfo& info) {
    if (!edit(SetRecording{ref})) return;
    recording_wanted = false;
    state.heard = Heard{};
    state.heard.info = info;
    forget_sound();
    read_sound(part_to_read());
    say("This is the recording that the draft was lifted from. Save the draft, so that it knows "
        "where it lies");
}

void Desk::Inside::open(const fs::path& path) {
    if (!may_go_on(intents::Open{path.string()})) return;
    state.overlay = Overlay::none;
    stop_work();
    if (player) player->core().pause();
    state.play.playing = false;
    pool.start("Opening " + path.filename().string(),
               [this, path, unsaved = unsaved_folder(),
                journal = settings.journal](const Work&) -> Delivery {
                   keeper.finish();  // what was closed just now has no journal any more
                   Result<Opened> opened = open_file(path, unsaved, journal);
                   return [this, path, opened = std::move(opened)]() mutable {
                       if (!opened) {
                           // What was to be thrown away for it is still on the desk.
                           state.unsaved = history && history->unsaved();
                           return fail(opened.failure());
                       }
                       state.notice.reset();
                       keep_place();
                       end_journal();
                       state.draft_file = opened->file;
                       mark = opened->mark;
                       recording_wanted = opened->recording_wanted;
                       show_document(std::move(opened->draft), std::move(opened->info));
                       find_place();
                       if (state.heard.info) read_sound(part_to_read());
                       if (state.heard.info && settings.sound == Sound::device) {
                           if (!player) player.emplace();
                           player->prepare();
                       }
                       offer_kept(std::move(opened->kept), opened->cut_off);
                       if (!opened->warning.empty()) say(opened->warning);
                       put_first(path);
                       remember();
                   };
               });
}

void Desk::Inside::on(const intents::OpenDemo&) {
    std::error_code error;
    const fs::path demo = demo_recording();
    if (!fs::exists(demo, error))
        return refuse("The demo is not where it was built, at " + demo.string() +
                      ": open a recording of your own");
    on(intents::Open{demo.string()});
}

void Desk::Inside::show_document(Draft draft, std::optional<RecordingInfo> info) {
    history.emplace(std::move(draft));
    state.heard = Heard{};
    state.written = Written{};
    state.manuscript.reset();
    state.manuscript_room = ManuscriptRoom{};
    state.heard.info = std::move(info);
    forget_sound();
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
}

void Desk::Inside::forget_sound() {
    audio.reset();
    heard_sound.reset();
    waits_at.reset();
}

SecondsRange Desk::Inside::part_to_read() {
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
    return part;
}

void Desk::Inside::read_sound(SecondsRange part) {
    const fs::path path = state.heard.info->path;
    SecondsRange first{state.play.at - Seconds(1), state.play.at + heard_first};
    if (const auto& loop = state.play.loop) {
        const SecondsRange both{std::min(first.from, loop->from - Seconds(1)),
                                std::max(first.to, loop->to + Seconds(1))};
        if (both.to - both.from <= longest_heard_first) first = both;
    }
    first = {std::clamp(first.from, part.from, part.to), std::clamp(first.to, part.from, part.to)};
    if (part.to - part.from < heard_first + heard_first) first = {part.from, part.from};
    pool.stop(reading_job);
    reading_job = pool.start_in_parts(
        "Reading " + path.filename().string(),
        [this, path, part, first](const Work& work, const Post& post) -> Delivery {
            const Result<Recording> recording = Recording::open(path);
            if (!recording) return [this, f = recording.failure()] { fail(f); };
            const SampleRate rate = recording->info().rate;
            const auto frames_of = [&](SecondsRange span) {
                return FramesRange{to_frames(span.from, rate),
                                   std::min(recording->info().frames, to_frames(span.to, rate))};
            };
            if (const FramesRange begin = frames_of(first); begin.from < begin.to) {
                Result<Audio> early = recording->read(begin, work.part(0.0, 0.05));
                if (!early) return [this, f = early.failure()] { fail(f); };
                post([this, sound = std::make_shared<const Audio>(std::move(early).value())] {
                    hear(sound);
                });
            }
            const FramesRange frames = frames_of(part);
            Result<Audio> read = recording->read(frames, work.part(0.05, 0.9));
            if (!read) return [this, f = read.failure()] { fail(f); };
            auto sound = std::make_shared<const Audio>(std::move(read).value());
            const bool whole = frames == recording->info().whole();
            auto drawn = whole ? std::make_shared<const Overview>(make_overview(*sound)) : nullptr;
            return [this, sound, drawn] {
                audio = sound;
                hear(sound);
                measure_stage();
                state.heard.spectrum.reset();
                if (state.spectrum_shown) make_spectrum();
                state.draft.notes.empty() ? pencil_all() : follow_line();
                if (drawn) state.heard.overview = drawn;
                if (!state.heard.overview) draw_overview();
            };
        });
}

void Desk::Inside::draw_overview() {
    if (std::exchange(looking_over, true)) return;
    pool.start(
        "Looking over " + state.heard.info->path.filename().string(),
        [this, path = state.heard.info->path](const Work& work) -> Delivery {
            const Result<Recording> recording = Recording::open(path);
            const auto failed = [this](const Failure& f) {
                return [this, f] {
                    looking_over = false;
                    fail(f);
                };
            };
            if (!recording) return failed(recording.failure());
            Result<Overview> overview = make_overview(*recording, work);
            if (!overview) return failed(overview.failure());
            return [this, path,
                    drawn = std::make_shared<const Overview>(std::move(overview).value())] {
                looking_over = false;
                if (state.heard.info && state.heard.info->path == path)
                    state.heard.overview = drawn;
            };
        },
        Pace::patient);
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

}  // namespace bentline::window
