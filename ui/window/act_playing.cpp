// Actions on places, loops, speeds and what is looked at.
#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "ui/window/desk_inside.h"

namespace bentline::window {

namespace {

// Speeds of a step: parts of the tempo that a player would name (common practice, no source).
constexpr std::array speed_steps{0.1, 0.2, 0.25, 0.33, 0.4,  0.5, 0.6,  0.67, 0.75,
                                 0.8, 0.9, 1.0,  1.1,  1.25, 1.5, 1.75, 2.0};

constexpr Seconds shortest_loop{0.05};
constexpr Seconds closest_look{0.2};
// Fewer rows look like another instrument, more are too small to read.
constexpr int fewest_rows = 20;
constexpr int most_rows = 22;

}  // namespace

void Desk::Inside::look_at(SecondsRange span) {
    const Seconds length =
        std::clamp(span.to - span.from, closest_look, std::max(closest_look, state.duration()));
    const Seconds middle = (span.from + span.to) * 0.5;
    Seconds from = middle - length * 0.5;
    from = std::min(from, state.duration() - length);
    from = std::max(from, Seconds(0));
    state.look = {from, from + length};
    // The rows go along with the notes that have come into view.
    const Range<std::size_t> seen = state.draft.notes.within(state.look);
    if (seen.empty() || length > Seconds(30)) return;
    std::vector<int> keys;
    for (std::size_t i = seen.from; i < seen.to; ++i)
        keys.push_back(top_of(state.draft.notes[i].note));
    std::sort(keys.begin(), keys.end());
    // All of them where they fit, else not the few that stray furthest.
    const bool fit = keys.back() - keys.front() + 3 <= state.rows.to - state.rows.from;
    const std::size_t stray = fit ? 0 : keys.size() / 8;
    const int low = keys[stray], high = keys[keys.size() - 1 - stray];
    const int centre = keys[keys.size() / 2], reach = (state.rows.to - state.rows.from) / 2 - 2;
    // Where not all of them can be shown, those around the middle one are.
    rows_for(std::max(low, centre - reach), std::min(high, centre + reach));
}

void Desk::Inside::keep_in_view(SecondsRange span) {
    const Seconds length = state.look.to - state.look.from;
    if (span.from >= state.look.from && span.to <= state.look.to) return;
    // A tenth of the width is left before it, so that what comes is in view.
    const Seconds from = span.from - length * 0.1;
    look_at({from, from + length});
}

void Desk::Inside::fit_rows() {
    std::vector<int> keys;
    for (const DraftNote& n : state.draft.notes)
        keys.push_back(n.note.key.value());
    std::sort(keys.begin(), keys.end());
    // A few stray notes do not make the rows small: the middle 94 of 100 do.
    const std::size_t stray = keys.size() * 3 / 100;
    int low = keys.empty() ? 52 : keys[stray] - 2;
    int high = keys.empty() ? 74 : keys[keys.size() - 1 - stray] + 3;
    const int middle = keys.empty() ? 63 : keys[keys.size() / 2];
    if (high - low > most_rows) {
        low = middle - most_rows / 2;
        high = low + most_rows;
    }
    while (high - low < fewest_rows) {
        --low;
        if (high - low < fewest_rows) ++high;
    }
    state.rows = {std::max(0, low), std::min(128, high)};
}

void Desk::Inside::rows_for(int lowest, int highest) {
    const int count = state.rows.to - state.rows.from;
    if (lowest - 1 >= state.rows.from && highest + 1 < state.rows.to) return;
    int from = state.rows.from;
    if (highest - lowest + 3 > count) {
        from = (lowest + highest) / 2 - count / 2;
    } else if (lowest - 1 < from) {
        from = lowest - 1;
    } else {
        from = highest + 2 - count;
    }
    from = std::clamp(from, 0, 128 - count);
    state.rows = {from, from + count};
}

bool Desk::Inside::in_recording(Seconds time) {
    // Where the recording is not here it may be longer than its notes.
    constexpr Seconds longest_unseen{3600.0};
    const Seconds end = state.heard.info ? state.duration() : longest_unseen;
    if (time >= Seconds(0) && time < end) return true;
    refuse("That lies outside the recording");
    return false;
}

bool Desk::Inside::on_desk(Seconds time) const {
    return audio && time >= audio->start_time() &&
           time <= audio->start_time() + audio->duration() + Seconds(0.001);
}

void Desk::Inside::seek(Seconds time) {
    state.play.at = std::clamp(time, Seconds(0), std::max(Seconds(0), state.duration()));
    if (!player || !heard_sound) return;
    const SecondsRange here{heard_sound->start_time(),
                            heard_sound->start_time() + heard_sound->duration()};
    waits_at.reset();
    if (!audio && !here.contains(state.play.at)) {
        waits_at = state.play.at;
        player->core().pause();
        return;
    }
    player->core().seek(to_frames(state.play.at, heard_sound->rate));
}

void Desk::Inside::set_loop(std::optional<SecondsRange> loop) {
    state.play.loop = loop;
    // The next note is then the loop's first, not one far away that was in hand before.
    if (loop && state.picked() != nullptr && !loop->contains(state.picked()->note.onset))
        state.pick.reset();
    measure_stage();
    if (!player || !heard_sound) return;
    if (loop) {
        const SampleRate rate = heard_sound->rate;
        player->core().loop({to_frames(loop->from, rate), to_frames(loop->to, rate)});
    } else {
        player->core().loop_off();
    }
}

void Desk::Inside::on(const intents::GoTo& i) {
    if (audio && i.time > Seconds(0) && i.time < state.duration() && !on_desk(i.time)) {
        // It is seen, so that it can be looped and taken; it cannot be heard.
        keep_in_view({i.time, i.time});
        return refuse(
            "This part of the recording is not on the desk: loop what you want of it and press W");
    }
    // The start of a part is where that begins.
    seek(audio && i.time <= Seconds(0) ? audio->start_time() : i.time);
    keep_in_view({state.play.at, state.play.at});
}

void Desk::Inside::on(const intents::LoopOver& i) {
    SecondsRange loop{std::max(Seconds(0), std::min(i.from, i.to)),
                      std::min(state.duration(), std::max(i.from, i.to))};
    if (state.draft.bars) {
        // An end near a beat is meant to be on it, where there is a pulse.
        const auto snapped = [&](Seconds t) {
            if (state.draft.bars->free_at(state.draft.bars->position_at(t).bar)) return t;
            const Beats beats = state.draft.bars->beats_at(t);
            const Beats whole(std::round(beats.value()));
            const double off = (beats - whole).value();
            return std::abs(off) < 0.15 ? std::max(Seconds(0), state.draft.bars->time_of(whole))
                                        : t;
        };
        const SecondsRange on_beats{snapped(loop.from), snapped(loop.to)};
        if (on_beats.to - on_beats.from > shortest_loop) loop = on_beats;
    }
    if (loop.to - loop.from < shortest_loop)
        return refuse("A loop lasts at least 50 ms: drag a little further");
    set_loop(loop);
    const bool inside = loop.from >= state.look.from && loop.to <= state.look.to;
    const Seconds air = (loop.to - loop.from) * 0.06;
    if (!inside) look_at({loop.from - air, loop.to + air});
    if (!loop.contains(state.play.at)) seek(loop.from);
}

void Desk::Inside::on(const intents::LoopBars& i) {
    const Result<SecondsRange> span = span_of_bars(state.draft, i.first, i.last);
    if (!span) return fail(span.failure());
    const SecondsRange loop{std::max(Seconds(0), span->from), std::min(state.duration(), span->to)};
    if (loop.to - loop.from < shortest_loop) return refuse("These bars lie outside the recording");
    set_loop(loop);
    const Seconds air = (loop.to - loop.from) * 0.04;
    look_at({loop.from - air, loop.to + air});
    if (!loop.contains(state.play.at)) seek(loop.from);
}

void Desk::Inside::on(const intents::LoopOff&) {
    if (!state.play.loop) return;
    set_loop(std::nullopt);
}

void Desk::Inside::on(const intents::MoveLoop& i) {
    if (!state.play.loop)
        return refuse("There is no loop to move: drag over the bars above the grid");
    SecondsRange loop = *state.play.loop;
    const auto moved = [&](Seconds t) {
        if (!state.draft.bars) return t + Seconds(0.25 * i.beats);
        return state.draft.bars->time_of(state.draft.bars->beats_at(t) + Beats(i.beats));
    };
    if (i.edge != Edge::end) loop.from = moved(loop.from);
    if (i.edge != Edge::start) loop.to = moved(loop.to);
    if (loop.to - loop.from < shortest_loop || loop.from < Seconds(0) ||
        loop.to > state.duration()) {
        return refuse("The loop would leave the recording, or have no length");
    }
    set_loop(loop);
    keep_in_view(loop);
}

void Desk::Inside::on(const intents::SetSpeed& i) {
    state.play.speed = std::clamp(i.speed, 0.1, 2.0);
    state.play.trainer.reset();  // a speed that is set by hand stays
    if (player) player->core().speed(state.play.speed);
}

void Desk::Inside::on(const intents::StepSpeed& i) {
    // From the step at or next to the speed, in the direction asked for.
    double now = state.play.speed;
    const auto most = static_cast<int>(speed_steps.size());
    for (int left = std::clamp(i.steps, -most, most); left != 0; left += left > 0 ? -1 : 1) {
        double next = now;
        for (const double step : speed_steps) {
            if (left < 0 && step < now - 1e-6) next = step;
            if (left > 0 && step > now + 1e-6) {
                next = step;
                break;
            }
        }
        now = next;
    }
    on(intents::SetSpeed{now});
}

void Desk::Inside::on(const intents::SetLevel& i) {
    state.play.level = std::clamp(i.level, Decibels(-60), Decibels(0));
    state.remembered.level_db = state.play.level.value();
    if (player) player->core().level(state.play.level);
}

void Desk::Inside::on(const intents::SetRetune& i) {
    state.play.retune = std::clamp(i.cents, Cents(-1200), Cents(1200));
    if (player) player->core().retune(state.play.retune);
}

void Desk::Inside::on(const intents::HearFocus& i) {
    state.play.focus_only = i.only;
    send_play_settings();
}

void Desk::Inside::on(const intents::ShowSpan& i) {
    look_at({i.from, i.to});
}

void Desk::Inside::on(const intents::ShowRows& i) {
    const int from = std::clamp(i.lowest, 0, 128 - 6);
    state.rows = {from, std::clamp(i.above, from + 6, 128)};
}

void Desk::Inside::on(const intents::Zoom& i) {
    if (!(i.factor > 0.0)) return;
    // Around the play line if it is in view, else around the middle.
    const SecondsRange look = state.look;
    const Seconds centre =
        look.contains(state.play.at) ? state.play.at : (look.from + look.to) * 0.5;
    const double factor = std::clamp(i.factor, 0.05, 20.0);
    Seconds from = centre - (centre - look.from) * factor,
            to = centre + (look.to - centre) * factor;
    if (to - from < closest_look) return;
    look_at({std::max(Seconds(0), from), std::min(std::max(state.duration(), closest_look), to)});
}

void Desk::Inside::on(const intents::Measure& i) {
    state.measured.reset();
    const SecondsRange span{std::max(i.from, Seconds(0)), std::min(i.to, state.duration())};
    if (!(span.from < span.to)) return;
    if (!state.heard.line) return refuse("There is no pitch line to measure yet");
    state.pick.reset();
    state.measured = measure_span(*state.heard.line, span);
}

void Desk::Inside::on(const intents::SetPosition& i) {
    state.position = std::clamp(i.fret, 0, 20);
}

}  // namespace bentline::window
