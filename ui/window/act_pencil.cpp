// Following the soloist and pencilling his notes, beside the window.
#include <algorithm>
#include <cmath>

#include "engine/draft/draft_hints.h"
#include "engine/notes/pencil.h"
#include "engine/pitch/tracker.h"
#include "ui/window/desk_inside.h"

namespace bentline::window {

namespace {

// Looking at some of it first is worth its cost only where it is a small part of the whole.
constexpr double longest_first = 0.4;

}  // namespace

void Desk::Inside::follow_line() {
    if (!audio) return;
    pool.start(
        "Following the soloist",
        [this, sound = audio, focus = state.draft.focus](const Work& work) -> Delivery {
            Result<PitchCurve> line = track_pitch(*sound, focus, {}, work);
            if (!line) return [this, f = line.failure()] { fail(f); };
            return [this, line = std::move(line).value()]() mutable { take_line(std::move(line)); };
        },
        Pace::patient);
}

void Desk::Inside::pencil_all() {
    if (!audio) return;
    const SecondsRange whole{audio->start_time(), audio->start_time() + audio->duration()};
    Hints hints = hints_of(state.draft, whole);
    // The whole recording tells its own tuning anew, unless inked notes are written by the old one.
    if (hints.inked.empty()) hints.tuning.reset();
    SecondsRange first = state.play.loop.value_or(state.look);
    if (first.to - first.from > (whole.to - whole.from) * longest_first) first = {};
    state.key_waits = state.key_waits || state.draft.notes.empty();
    pool.stop(pencil_job);
    pencil_job = pool.start_in_parts(
        "Following the soloist, pencilling notes",
        [this, sound = audio, focus = state.draft.focus, hints = std::move(hints), whole, first](
            const Work& work, const Post& post) -> Delivery {
            const auto ready = [&](Pencilled early) {
                post([this, first, early = std::move(early)] {
                    take_part_of_line(early.curve, first);
                    take_pencilled(first, early.notes, early.curve.tuning);
                });
            };
            Result<Pencilled> found = pencil_in_order(*sound, focus, hints, first, ready, work);
            if (!found) return [this, f = found.failure()] { fail(f); };
            return [this, whole, found = std::move(found).value()]() mutable {
                const Cents tuning = found.curve.tuning;
                take_line(std::move(found.curve));
                take_pencilled(whole, found.notes, tuning);
                if (state.draft.notes.empty())
                    return say(
                        "No notes were found: choose the register and the place on the "
                        "stage, then pencil again");
                const Seconds onset = state.draft.notes[0].note.onset;
                if (!state.play.playing && !state.play.loop && !state.pick &&
                    state.play.at < onset) {
                    look_at({onset - Seconds(0.5), onset + Seconds(8.5)});
                    seek(onset);
                }
            };
        },
        Pace::patient);
}

void Desk::Inside::take_pencilled(SecondsRange span, const std::vector<Note>& notes, Cents tuning) {
    const DraftNote* picked = state.picked();
    const std::optional<Seconds> onset =
        picked != nullptr ? std::optional(picked->note.onset) : std::nullopt;
    const bool first_notes = state.draft.notes.empty();
    state.pick.reset();  // ids may be given anew
    if (history->steps() == 0 && state.draft_file.empty() && !state.kept) {
        // Nothing was done yet: the pencilled draft is where the evening begins.
        Draft draft = state.draft;
        draft.tuning = tuning;
        draft.notes = NoteList();
        draft.next_id = NoteId{1};
        Result<Draft> made = pencil(std::move(draft), notes);
        if (!made) return fail(made.failure());
        history.emplace(std::move(made).value());
        show_history();
    } else {
        edit(SetTuning{tuning});
        edit(bentline::Repencil{span, notes});
    }
    if (onset) keep_pick(*onset);
    if (first_notes) fit_rows();
}

void Desk::Inside::keep_pick(Seconds onset) {
    constexpr Seconds near{0.03};
    const Range<std::size_t> there = state.draft.notes.within({onset - near, onset + near});
    if (!there.empty()) state.pick = state.draft.notes[there.from].id;
}

void Desk::Inside::take_part_of_line(const PitchCurve& part, SecondsRange span) {
    if (!state.heard.line) return take_line(part);
    PitchCurve line = *state.heard.line;
    for (std::size_t i = 0; i < line.points.size(); ++i) {
        if (!span.contains(line.time_of(i))) continue;
        const double at = std::round((line.time_of(i) - part.start) / part.hop);
        if (at >= 0 && at < static_cast<double>(part.points.size()))
            line.points[i] = part.points[static_cast<std::size_t>(at)];
    }
    take_line(std::move(line));
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
    if (!state.play.loop) return pencil_all();
    const SecondsRange loop = *state.play.loop;
    // Some air on each side, so that what rings into the loop is known for what it is.
    const SampleRate rate = audio->rate;
    const Frames first =
        std::max(Frames(0), to_frames(loop.from - first_look_margin, rate) - audio->start);
    const Frames last =
        std::min(audio->length(), to_frames(loop.to + first_look_margin, rate) - audio->start);
    if (!(first < last)) return refuse("The loop lies outside the part that is on the desk");
    pool.stop(pencil_job);
    pencil_job = pool.start(
        "Pencilling the loop again",
        [this, loop, first, last, sound = audio, focus = state.draft.focus,
         hints =
             hints_of(state.draft, {loop.from - first_look_margin, loop.to + first_look_margin})](
            const Work& work) -> Delivery {
            Audio part{sound->rate, sound->start + first, {}};
            for (const auto& channel : sound->channels) {
                part.channels.emplace_back(channel.begin() + first.value(),
                                           channel.begin() + last.value());
            }
            Result<Pencilled> found = pencil_notes(part, focus, hints, work);
            if (!found) return [this, f = found.failure()] { fail(f); };
            return [this, loop, found = std::move(found).value()]() mutable {
                const DraftNote* picked = state.picked();
                const Seconds onset = picked != nullptr ? picked->note.onset : Seconds(-1);
                if (state.heard.line) take_part_of_line(found.curve, loop);
                state.pick.reset();
                const bool done = edit(bentline::Repencil{loop, found.notes});
                keep_pick(onset);
                if (done) say("The loop is pencilled again; inked notes stayed as they were");
            };
        },
        Pace::patient);
}

}  // namespace bentline::window
