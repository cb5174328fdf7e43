// Actions on bars, key, form, chords and focus.
#include <algorithm>
#include <cmath>
#include <utility>

#include "engine/bars/bar_edits.h"
#include "engine/bars/choruses.h"
#include "ui/window/desk_inside.h"

namespace bentline::window {

namespace {

// Taps further apart than this begin anew.
constexpr Seconds longest_tap_gap{3.0};
constexpr std::size_t taps_for_a_tempo = 4;
constexpr std::size_t most_taps = 4096;
// With this many beats, taps follow the tempo as it breathes; fewer make an even one.
constexpr std::size_t taps_that_follow = 16;
constexpr const char* tapped = "beats tapped";
// Where nothing is known about the tempo yet.
constexpr Tempo first_tempo{120.0};

// The even beats that fit taps best: time = first + i * beat, by least squares.
std::pair<Seconds, Seconds> fit_taps(const std::vector<Seconds>& taps) {
    const auto n = static_cast<double>(taps.size());
    double mean_i = (n - 1) / 2, mean_t = 0, it = 0, ii = 0;
    for (const Seconds t : taps)
        mean_t += t.value() / n;
    for (std::size_t i = 0; i < taps.size(); ++i) {
        const double d = static_cast<double>(i) - mean_i;
        it += d * (taps[i].value() - mean_t);
        ii += d * d;
    }
    const double beat = it / ii;
    return {Seconds(mean_t - mean_i * beat), Seconds(beat)};
}

// A section begins at `bar` under this letter, or, without one, no longer.
Form with_section(Form form, int bar, const std::string& letter) {
    constexpr int usual = 8;  // bars of a section (common practice, no source)
    const auto here = std::find_if(form.begin(), form.end(),
                                   [&](const Section& s) { return s.first_bar == bar; });
    if (here != form.end()) {
        if (!letter.empty()) {
            here->letter = letter;
        } else {
            if (here != form.begin()) (here - 1)->bars += here->bars;
            form.erase(here);
        }
        return form;
    }
    if (letter.empty()) return form;
    const auto after =
        std::find_if(form.begin(), form.end(), [&](const Section& s) { return s.first_bar > bar; });
    Section added{letter, bar, usual};
    if (after == form.begin() && after != form.end()) {
        added.bars = after->first_bar - bar;
    } else if (after != form.begin()) {
        // Inside a section it takes what follows of it; after the last it leaves no gap.
        Section& before = *(after - 1);
        const int end = before.first_bar + before.bars;
        before.bars = bar - before.first_bar;
        if (bar < end) added.bars = end - bar;
    }
    form.insert(after, added);
    return form;
}

}  // namespace

void Desk::Inside::set_bars(Result<BarMap> bars, std::string words) {
    if (!bars) return fail(bars.failure());
    edit(SetBars{std::move(bars).value(), std::move(words)});
}

void Desk::Inside::on(const intents::DragBeat& i) {
    if (!state.draft.bars) return refuse("There are no beats yet to be moved");
    if (!in_recording(i.to)) return;
    const BarBeat place = state.draft.bars->position_of(Beats(i.beat));
    set_bars(drag_beat(*state.draft.bars, i.beat, i.to),
             "bar " + std::to_string(place.bar) + ": beat " +
                 std::to_string(static_cast<int>(std::lround(place.beat.value())) + 1) + " moved");
}

void Desk::Inside::on(const intents::BarOneAt& i) {
    if (!in_recording(i.time)) return;
    // Followed or tapped beats stay where they are; even ones move along.
    if (state.draft.bars) {
        const bool even = state.draft.bars->constant_tempo();
        return set_bars(even ? bar_one_exactly_here(*state.draft.bars, i.time)
                             : bar_one_here(*state.draft.bars, i.time),
                        "bar 1 is here");
    }
    set_bars(BarMap::constant(first_tempo, i.time), "bar 1 is here");
    if (state.draft.bars)
        say("Bar 1 begins here, at 120 beats a minute for now: tap the beat, or write the tempo");
}

void Desk::Inside::on(const intents::SetTempo& i) {
    const Seconds bar_one = state.draft.bars ? state.draft.bars->time_of(Beats(0)) : state.play.at;
    const Metre metre = state.draft.bars ? state.draft.bars->metre() : Metre{};
    if (state.draft.bars && std::abs(state.draft.bars->tempo_at(Beats(0)).value() - i.bpm) < 0.5 &&
        i.bpm == std::round(i.bpm)) {
        return;  // the rounded figure that the field shows: a finer tempo stays
    }
    set_bars(BarMap::constant(Tempo(i.bpm), bar_one, metre), "");
}

void Desk::Inside::on(const intents::Tap& i) {
    if (!in_recording(i.time)) return;
    std::vector<Seconds>& taps = state.taps;
    if (!taps.empty() && (i.time <= taps.back() || i.time - taps.back() > longest_tap_gap))
        taps.clear();
    taps.push_back(i.time);
    if (taps.size() > most_taps) taps.erase(taps.begin());
    if (taps.size() < taps_for_a_tempo) {
        return say("Beat " + std::to_string(taps.size()) + ": go on tapping");
    }
    // One step of the history for all of them.
    if (history && history->can_undo() && history->step(history->done() - 1).words == tapped &&
        taps.size() > taps_for_a_tempo) {
        step_back();
        show_history();
    }
    std::vector<Seconds> onsets;
    for (const DraftNote& note : state.draft.notes)
        onsets.push_back(note.note.onset);
    const Result<std::vector<Seconds>> beats = read_taps(taps, onsets);
    if (!beats) return fail(beats.failure());
    const Metre metre = state.draft.bars ? state.draft.bars->metre() : Metre{};
    const auto [first, beat] = fit_taps(*beats);
    Result<BarMap> map = beats->size() < taps_that_follow
                             ? BarMap::constant(tempo_of(beat), first, metre)
                             : BarMap::from_beats(*beats, 0, metre);
    // Bar 1 stays on the tapped beat that is nearest to where it was.
    if (map && state.draft.bars) map = bar_one_here(*map, state.draft.bars->time_of(Beats(0)));
    set_bars(std::move(map), tapped);
    if (state.draft.bars) {
        const Tempo tempo = state.draft.bars->tempo_at(state.draft.bars->beats_at(i.time));
        say("Beat " + std::to_string(taps.size()) + ": " +
            std::to_string(std::lround(tempo.value())) + " beats a minute");
    }
}

void Desk::Inside::on(const intents::SetMetre& i) {
    const Result<Metre> metre = parse_metre(i.metre);
    if (!metre) return fail(metre.failure());
    if (!state.draft.bars) return refuse("Give a tempo, or tap the beat, before the metre");
    edit(bentline::SetMetre{*metre});
}

void Desk::Inside::on(const intents::SetKey& i) {
    if (i.key.empty()) {
        edit(bentline::SetKey{std::nullopt});
        return;
    }
    const Result<Keys> keys = parse_keys(i.key, state.draft.form);
    if (!keys) return fail(keys.failure());
    edit(bentline::SetKeys{*keys});
}

void Desk::Inside::on(const intents::SetForm& i) {
    if (i.form.empty()) {
        edit(bentline::SetForm{});
        return;
    }
    const Result<PlayedForm> form = parse_played_form(i.form);
    if (!form) return fail(form.failure());
    if (!edit(
            bentline::SetForm{repeated(with_keys_of(form->once, state.draft.form), form->times)}) ||
        form->times == 1)
        return;
    // The changes of the first chorus hold for those after it, where nothing stands yet.
    std::vector<std::string> chords = chords_of_choruses(state.draft.chords, *form);
    if (chords != state.draft.chords) edit(SetChords{std::move(chords)});
}

void Desk::Inside::on(const intents::SetSection& i) {
    constexpr std::size_t longest_letter = 12;
    if (!state.draft.bars) return refuse("Place the bars first, then their sections");
    if (i.bar < 1 || i.bar > 9999) return refuse("Sections begin at bars 1 to 9999");
    if (i.letter.size() > longest_letter)
        return refuse("A section's name is a letter, or a short word");
    edit(bentline::SetForm{with_section(state.draft.form, i.bar, i.letter)});
}

void Desk::Inside::on(const intents::SetChord& i) {
    edit(bentline::SetChord{i.bar, i.chord});
}

void Desk::Inside::on(const intents::SetHeading& i) {
    if (!state.open) return refuse("Open a recording or a draft first");
    edit(bentline::SetHeading{i.title, i.players});
}

void Desk::Inside::on(const intents::SetRegister& i) {
    Focus focus = state.draft.focus;
    focus.lowest = Pitch(static_cast<double>(i.lowest));
    focus.highest = Pitch(static_cast<double>(i.highest));
    if (i.lowest < 23 || i.highest > 100 || i.lowest >= i.highest) {
        return refuse(
            "A register reaches from B0 at the lowest to E7 at the highest, low end first");
    }
    edit_focus(focus, Hint::range);
}

void Desk::Inside::on(const intents::SetStage& i) {
    if (!(i.place >= -1.0 && i.place <= 1.0 && i.width >= 0.0 && i.width <= 2.0)) {
        return refuse(
            "A place on the stage lies between -1 (left) and 1 (right), its width between 0 and 2");
    }
    Focus focus = state.draft.focus;
    focus.place = i.place;
    focus.width = i.width;
    edit_focus(focus, Hint::stage);
}

void Desk::Inside::edit_focus(const Focus& focus, Hint hint) {
    const std::size_t before = history ? history->done() : 0;
    const bool goes_on = state.overlay == Overlay::focus && riding == hint;
    if (!edit(SetFocus{focus}, goes_on)) return;
    // A step that was taken back by hand is gone: the next is no part of what came before it.
    const std::size_t after = history->done();
    if (after > before || (goes_on && after == before)) riding = hint;
    send_play_settings();
}

}  // namespace bentline::window
