// The table of commands.
#include "ui/window/keymap.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "ui/window/state.h"

namespace bentline::window {
namespace {

namespace in = intents;

// A command whose intent does not depend on the state.
template <class I, auto... values>
Intent fixed(const State&) {
    return I{values...};
}
Intent turn(const char* kind) {
    return in::Turn{kind};
}
Intent later(double seconds, Edge edge) {
    return in::MoveNote{edge, Seconds(seconds)};
}

// The loop moved by as many beats as it has: over the bars before it, or those after it.
Intent loop_by_itself(const State& s, int direction) {
    int beats = 1;
    if (s.play.loop && s.draft.bars) {
        const Beats length =
            s.draft.bars->beats_at(s.play.loop->to) - s.draft.bars->beats_at(s.play.loop->from);
        beats = std::max(1, static_cast<int>(std::lround(length.value())));
    } else if (s.play.loop) {
        beats = std::max(1, static_cast<int>((s.play.loop->to - s.play.loop->from).value() * 4));
    }
    return in::MoveLoop{Edge::both, direction * beats};
}

// The loop moved by a bar of the metre where it begins.
Intent loop_by_bars(const State& s, int bars) {
    int beats = 4;
    if (s.play.loop && s.draft.bars) {
        const int bar = s.draft.bars->position_at(s.play.loop->from).bar;
        beats = s.draft.bars->metre_at(bars < 0 ? bar - 1 : bar).beats_per_bar();
    }
    return in::MoveLoop{Edge::both, bars * beats};
}

// To the next beat before or behind the play line; without bars by half a second.
Intent by_beats(const State& s, int direction) {
    if (!s.draft.bars) return in::GoTo{s.play.at + Seconds(0.5 * direction)};
    const double now = s.draft.bars->beats_at(s.play.at).value();
    constexpr double on_it = 0.02;
    const double to = direction > 0 ? std::floor(now + on_it) + 1 : std::ceil(now - on_it) - 1;
    return in::GoTo{s.draft.bars->time_of(Beats(to))};
}

// The beat nearest to the play line, moved.
Intent beat_moved(const State& s, double seconds) {
    if (!s.draft.bars) return in::DragBeat{};
    const double beat = std::round(s.draft.bars->beats_at(s.play.at).value());
    return in::DragBeat{static_cast<int>(beat),
                        s.draft.bars->time_of(Beats(beat)) + Seconds(seconds)};
}

Intent louder_by(const State& s, double decibels) {
    return in::SetLevel{s.play.level + Decibels(decibels)};
}

Intent sharper_by(const State& s, double cents) {
    return in::SetRetune{s.play.retune + Cents(cents)};
}

Intent loop_alone(const State& s) {
    if (!s.play.loop) return in::TakePart{};
    return in::TakePart{s.play.loop->from, s.play.loop->to};
}

// Moves of a note's ends and of beats, seconds: about the shortest change of time that can be heard
// in a phrase.
constexpr double nudge = 0.01;

constexpr std::array table{
    Command{"play-stop", "play, or stop", "Listening", "space", fixed<in::PlayStop>},
    Command{"slower", "slower, one step", "Listening", "-", fixed<in::StepSpeed, -1>},
    Command{"faster", "faster, one step", "Listening", "=", fixed<in::StepSpeed, 1>},
    Command{"louder", "louder by 2 dB", "Listening",
            "alt+=", [](const State& s) { return louder_by(s, 2); }},
    Command{"softer", "softer by 2 dB", "Listening", "alt+-",
            [](const State& s) { return louder_by(s, -2); }},
    Command{"sharper", "tuned 5 c sharper", "Listening",
            "shift+=", [](const State& s) { return sharper_by(s, 5); }},
    Command{"flatter", "tuned 5 c flatter", "Listening", "shift+-",
            [](const State& s) { return sharper_by(s, -5); }},
    Command{"focus", "register, place on the stage …", "Listening", "shift+o",
            fixed<in::Show, Overlay::focus>},
    Command{"focus-only", "hear only the focus, or all", "Listening", "o",
            [](const State& s) -> Intent { return in::HearFocus{!s.play.focus_only}; }},
    Command{
        "balance", "recording, both, draft", "Listening", "ctrl+b",
        [](const State& s) -> Intent {
            return in::SetBalance{s.play.balance < 0.25 ? 0.5 : s.play.balance < 0.75 ? 1.0 : 0.0};
        }},
    Command{"loop-note", "loop around the note", "Listening", "g",
            [](const State& s) -> Intent {
                const DraftNote* n = s.picked();
                if (n == nullptr) return in::LoopOff{};
                return in::LoopOver{n->note.onset - Seconds(0.25), n->note.offset + Seconds(0.25)};
            }},
    Command{"loop-bar", "loop this bar", "Listening", "l",
            [](const State& s) -> Intent {
                if (s.draft.bars) {
                    const int bar = s.draft.bars->position_at(s.play.at).bar;
                    return in::LoopBars{bar, bar};
                }
                return in::LoopOver{s.look.from, s.look.to};
            }},
    Command{"loop-off", "no loop", "Listening", "shift+l", fixed<in::LoopOff>},
    Command{"loop-earlier", "loop a beat earlier", "Listening", "[",
            fixed<in::MoveLoop, Edge::both, -1>},
    Command{"loop-later", "loop a beat later", "Listening", "]",
            fixed<in::MoveLoop, Edge::both, 1>},
    Command{"loop-bar-earlier", "loop a bar earlier", "Listening", "alt+[",
            [](const State& s) { return loop_by_bars(s, -1); }},
    Command{"loop-bar-later", "loop a bar later", "Listening", "alt+]",
            [](const State& s) { return loop_by_bars(s, 1); }},
    Command{"loop-back", "loop back by its own length", "Listening", "ctrl+[",
            [](const State& s) { return loop_by_itself(s, -1); }},
    Command{"loop-on", "loop on by its own length", "Listening", "ctrl+]",
            [](const State& s) { return loop_by_itself(s, 1); }},
    Command{"loop-shorter", "loop ends a beat earlier", "Listening", "shift+[",
            fixed<in::MoveLoop, Edge::end, -1>},
    Command{"loop-longer", "loop ends a beat later", "Listening", "shift+]",
            fixed<in::MoveLoop, Edge::end, 1>},
    Command{"practice", "count-in, rising speed, device …", "Listening", "y",
            fixed<in::Show, Overlay::practice>},
    Command{"to-start", "to the start of the loop", "Listening", "home",
            [](const State& s) -> Intent {
                return in::GoTo{s.play.loop ? s.play.loop->from : Seconds(0)};
            }},
    Command{"bar-back", "a bar back", "Listening", "pageup",
            [](const State& s) -> Intent {
                if (!s.draft.bars) return in::GoTo{s.play.at - Seconds(2)};
                const BarBeat p = s.draft.bars->position_at(s.play.at);
                const int bar = p.beat.value() > 0.5 ? p.bar : p.bar - 1;
                return in::GoTo{s.draft.bars->bar_span(bar).from};
            }},
    Command{"bar-on", "a bar on", "Listening", "pagedown",
            [](const State& s) -> Intent {
                if (!s.draft.bars) return in::GoTo{s.play.at + Seconds(2)};
                return in::GoTo{
                    s.draft.bars->bar_span(s.draft.bars->position_at(s.play.at).bar).to};
            }},
    Command{"beat-back", "a beat back", "Listening", "shift+pageup",
            [](const State& s) { return by_beats(s, -1); }},
    Command{"beat-on", "a beat on", "Listening", "shift+pagedown",
            [](const State& s) { return by_beats(s, 1); }},
    Command{"rows-up", "show higher rows", "Looking", "ctrl+up",
            [](const State& s) -> Intent {
                return in::ShowRows{s.rows.from + 3, s.rows.to + 3};
            }},
    Command{"rows-down", "show lower rows", "Looking", "ctrl+down",
            [](const State& s) -> Intent {
                return in::ShowRows{s.rows.from - 3, s.rows.to - 3};
            }},
    Command{"position-up", "neck marks a fret higher", "Looking", "alt+pageup",
            [](const State& s) -> Intent { return in::SetPosition{s.position + 1}; }},
    Command{"position-down", "neck marks a fret lower", "Looking", "alt+pagedown",
            [](const State& s) -> Intent { return in::SetPosition{s.position - 1}; }},
    Command{"spectrum", "spectrum behind the grid, or not", "Looking", "q",
            [](const State& s) -> Intent { return in::ShowSpectrum{!s.spectrum_shown}; }},
    Command{"manuscript", "manuscript shown, or not", "Looking", "z",
            [](const State& s) -> Intent { return in::ShowManuscript{!s.remembered.manuscript}; }},
    Command{"measure", "measure the note, or the loop", "Looking", "shift+m",
            [](const State& s) -> Intent {
                if (const DraftNote* n = s.picked())
                    return in::Measure{n->note.onset, n->note.offset};
                const SecondsRange span = s.play.loop.value_or(s.look);
                return in::Measure{span.from, span.to};
            }},
    Command{"closer", "look closer", "Looking", ".",
            [](const State&) -> Intent { return in::Zoom{0.8}; }},
    Command{"wider", "look wider", "Looking", ",",
            [](const State&) -> Intent { return in::Zoom{1.25}; }},

    Command{"ink-on", "ink it and go on", "Notes", "enter", fixed<in::InkOn>},
    Command{"discard", "discard it and go on", "Notes", "backspace", fixed<in::Discard>},
    Command{"pencil", "back to pencil", "Notes", "shift+enter", fixed<in::PencilAgain>},
    Command{"next", "next note", "Notes", "right", fixed<in::PickStep, 1>},
    Command{"previous", "previous note", "Notes", "left", fixed<in::PickStep, -1>},
    Command{"pitch-up", "a semitone up", "Notes", "up", fixed<in::StepPitch, 1>},
    Command{"pitch-down", "a semitone down", "Notes", "down", fixed<in::StepPitch, -1>},
    Command{"octave-up", "an octave up", "Notes", "shift+up", fixed<in::StepPitch, 12>},
    Command{"octave-down", "an octave down", "Notes", "shift+down", fixed<in::StepPitch, -12>},
    Command{"start-earlier", "begins 10 ms earlier", "Notes", "shift+left",
            [](const State&) { return later(-nudge, Edge::start); }},
    Command{"start-later", "begins 10 ms later", "Notes", "shift+right",
            [](const State&) { return later(nudge, Edge::start); }},
    Command{"end-earlier", "ends 10 ms earlier", "Notes", "alt+left",
            [](const State&) { return later(-nudge, Edge::end); }},
    Command{"end-later", "ends 10 ms later", "Notes", "alt+right",
            [](const State&) { return later(nudge, Edge::end); }},
    Command{"add", "add a note at the play line", "Notes", "n", fixed<in::AddHere>},
    Command{"note-here", "a note is here, to be found", "Notes", "shift+n", fixed<in::MarkHere>},
    Command{"reading", "another reading of it", "Notes", "tab", fixed<in::NextReading>},
    Command{"split", "split it", "Notes", "x", fixed<in::SplitHere>},
    Command{"join", "join it with the next", "Notes", "j", fixed<in::JoinNext>},
    Command{"string-up", "on the next thinner string", "Notes", "alt+up", fixed<in::StepString, 1>},
    Command{"string-down", "on the next thicker string", "Notes", "alt+down",
            fixed<in::StepString, -1>},
    Command{"any-string", "on whichever string", "Notes", "alt+backspace", fixed<in::AnyString>},
    Command{"confident", "ink all confident notes …", "Notes", "i",
            fixed<in::Show, Overlay::confident>},
    Command{"ink-loop", "ink the bars of the loop", "Notes", "shift+i",
            [](const State& s) -> Intent {
                if (!s.draft.bars || !s.play.loop) return in::Show{Overlay::confident};
                const int first = s.draft.bars->position_at(s.play.loop->from).bar;
                const int last = s.draft.bars->position_at(s.play.loop->to - Seconds(0.001)).bar;
                return in::InkBars{first, last};
            }},

    Command{"bend-more", "bend, a quarter tone more", "Inflections", "b", fixed<in::StepBend, 1>},
    Command{"bend-less", "bend, a quarter tone less", "Inflections", "shift+b",
            fixed<in::StepBend, -1>},
    Command{"release", "bend let down, or not", "Inflections", "r", fixed<in::TurnRelease>},
    Command{"prebend", "pre-bent, or not", "Inflections", "shift+r", fixed<in::TurnPrebend>},
    Command{"slide-in", "slide in", "Inflections", "s",
            [](const State&) { return turn("slide_in"); }},
    Command{"slide-out", "slide out", "Inflections", "e",
            [](const State&) { return turn("slide_out"); }},
    Command{"slide-next", "slide to the next note", "Inflections", "d",
            [](const State&) { return turn("slide_to_next"); }},
    Command{"vibrato", "vibrato", "Inflections", "v", [](const State&) { return turn("vibrato"); }},
    Command{"trill", "trill", "Inflections", "t", [](const State&) { return turn("trill"); }},
    Command{"staccato", "staccato", "Inflections", "k",
            [](const State&) { return turn("staccato"); }},
    Command{"accent", "accent", "Inflections", "a", [](const State&) { return turn("accent"); }},

    Command{"tap", "tap a beat", "Bars", "m",
            [](const State& s) -> Intent { return in::Tap{s.play.at}; }},
    Command{"beat-earlier", "the nearest beat 10 ms earlier", "Bars", "shift+,",
            [](const State& s) { return beat_moved(s, -nudge); }},
    Command{"beat-later", "the nearest beat 10 ms later", "Bars", "shift+.",
            [](const State& s) { return beat_moved(s, nudge); }},
    Command{"bar-one", "bar 1 begins here", "Bars", "1",
            [](const State& s) -> Intent { return in::BarOneAt{s.play.at}; }},
    Command{"bars", "tempo, metre, key, title …", "Bars", "f", fixed<in::Show, Overlay::bars>},
    Command{"chord", "type this bar's chords", "Bars", "c", nullptr},
    Command{"section", "name the section from here", "Bars", "shift+c", nullptr},
    Command{"take-part", "work on the loop alone", "Bars", "w", loop_alone},
    Command{"repencil", "pencil the loop again", "Bars", "p", fixed<in::Repencil>},

    Command{"open", "open …", "Sheet", "ctrl+o", fixed<in::Choose, Purpose::open>},
    Command{"demo", "open the demo", "Sheet", "f3", fixed<in::OpenDemo>},
    Command{"save", "save", "Sheet", "ctrl+s", fixed<in::Save>},
    Command{"save-as", "save as …", "Sheet", "ctrl+shift+s", fixed<in::Choose, Purpose::save>},
    Command{"hand-out", "hand out …", "Sheet", "h", fixed<in::Show, Overlay::hand_out>},
    Command{"undo", "undo", "Sheet", "ctrl+z", fixed<in::Undo>},
    Command{"redo", "redo", "Sheet", "ctrl+y", fixed<in::Redo>},
    Command{"history", "what was done …", "Sheet", "u", fixed<in::Show, Overlay::history>},
    Command{"keys", "the keys …", "Sheet", "f1", fixed<in::Show, Overlay::keys>},
    Command{"paper", "light or dark paper", "Sheet", "f2",
            [](const State& s) -> Intent { return in::SetPaper{!s.remembered.dark}; }},
    Command{"larger", "everything larger", "Sheet", "ctrl+=",
            [](const State& s) -> Intent { return in::SetScale{s.remembered.scale * 1.1}; }},
    Command{"smaller", "everything smaller", "Sheet", "ctrl+-",
            [](const State& s) -> Intent { return in::SetScale{s.remembered.scale / 1.1}; }},
    // One thing at a time: the sentence, the measure, the pick, the loop.
    Command{"let-go", "let go of words, note, loop", "Sheet", "escape",
            [](const State& s) -> Intent {
                if (s.notice) return in::Dismiss{};
                if (s.measured) return in::Measure{};
                if (s.pick) return in::PickNone{};
                return in::LoopOff{};
            }},
    Command{"stop-work", "stop what is being worked out", "Sheet", "shift+escape",
            fixed<in::StopWork>},
    Command{"leave", "leave", "Sheet", "ctrl+q", fixed<in::Leave>},
};

}  // namespace

std::span<const Command> commands() {
    return table;
}

const Command* find_command(std::string_view name) {
    const auto* it = std::find_if(table.begin(), table.end(),
                                  [name](const Command& c) { return c.name == name; });
    return it == table.end() ? nullptr : it;
}

const Command* command_of(std::string_view stroke,
                          const std::map<std::string, std::string>& changes) {
    if (const auto own = changes.find(std::string(stroke)); own != changes.end())
        return find_command(own->second);
    for (const Command& command : table) {
        // A command that was moved to another stroke has left its first one.
        if (command.stroke == stroke && stroke_of(command.name, changes) == stroke) return &command;
    }
    return nullptr;
}

std::optional<Intent> intent_of(std::string_view stroke, const State& state) {
    const Command* command = command_of(stroke, state.remembered.keys);
    if (command == nullptr || command->intent == nullptr) return std::nullopt;
    return command->intent(state);
}

std::string stroke_of(std::string_view command, const std::map<std::string, std::string>& changes) {
    for (const auto& [stroke, name] : changes) {
        if (name == command) return stroke;
    }
    const Command* found = find_command(command);
    if (found == nullptr || changes.count(found->stroke) > 0) return "";
    return found->stroke;
}

std::string stroke_words(std::string_view stroke) {
    std::string words;
    const auto take = [&](std::string_view prefix, const char* name) {
        if (stroke.rfind(prefix, 0) != 0 || stroke.size() == prefix.size()) return;
        words += name;
        stroke.remove_prefix(prefix.size());
    };
    take("ctrl+", "Ctrl ");
    take("alt+", "Alt ");
    take("shift+", "Shift ");
    if (stroke == "left") return words + "←";
    if (stroke == "right") return words + "→";
    if (stroke == "up") return words + "↑";
    if (stroke == "down") return words + "↓";
    if (stroke == "pageup") return words + "Page ↑";
    if (stroke == "pagedown") return words + "Page ↓";
    // Signs that would be lost in a line of text.
    if (stroke == ".") return words + "Dot";
    if (stroke == ",") return words + "Comma";
    if (stroke == "-") return words + "Minus";
    std::string key(stroke);
    if (!key.empty() && key[0] >= 'a' && key[0] <= 'z')
        key[0] = static_cast<char>(key[0] - 'a' + 'A');
    return words + key;
}

}  // namespace bentline::window
