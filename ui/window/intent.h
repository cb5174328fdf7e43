// What the player can ask for: every button, key and drag of the window comes down to one of these.
//
// The view returns intents; actions carries them out. Each is also one line of a session script:
// its word, then its fields ("bend 50 yes no", "open \"solo.flac\""), so that an evening's work can
// be written down and played again. Times are recording time in seconds.
//
// An intent that speaks of "the note" means the picked one; without a pick it says so and does
// nothing.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <tuple>
#include <utility>
#include <variant>

#include "engine/result.h"
#include "engine/units.h"

namespace bentline::window {

// What may lie over the sheets.
enum class Overlay {
    none,
    chooser,
    keys,
    history,
    confident,
    bars,
    hand_out,
    guard,
    practice,
    recovery,
    focus
};
// What the file chooser is for.
enum class Purpose { open, save, midi, csv, musicxml, sheet, tab, clips, lesson };
enum class Answer { save, drop, stay };
enum class Edge { both, start, end };

// clang-format off
namespace intents {

#define BENTLINE_INTENT(name, word_text, ...)           \
    static constexpr std::string_view word = word_text; \
    auto fields() {                                     \
        return std::tie(__VA_ARGS__);                   \
    }                                                   \
    auto fields() const {                               \
        return std::tie(__VA_ARGS__);                   \
    }                                                   \
    friend bool operator==(const name&, const name&) = default;

// Files
struct Open { std::string path; BENTLINE_INTENT(Open, "open", path) };
struct OpenDemo { BENTLINE_INTENT(OpenDemo, "open-demo") };
struct Choose { Purpose purpose{}; BENTLINE_INTENT(Choose, "choose", purpose) };
struct LookIn { std::string folder; BENTLINE_INTENT(LookIn, "look-in", folder) };
// Tells about a file in the chooser before it is opened.
struct LookAtFile { std::string path; BENTLINE_INTENT(LookAtFile, "preview", path) };
struct Save { BENTLINE_INTENT(Save, "save") };
struct SaveAs { std::string path; BENTLINE_INTENT(SaveAs, "save-as", path) };
// plain: leave the inflections out; pencilled: take the pencilled notes along
struct ExportMidi {
    std::string path; bool plain = false; bool pencilled = false;
    BENTLINE_INTENT(ExportMidi, "midi", path, plain, pencilled)
};
// By the name's ending: .mid, .csv, .musicxml, .pdf, .svg, .txt (tablature as text), .html (the
// lesson sheet); without one, a folder of practice clips. A file of that name is replaced.
struct HandOut {
    std::string path; bool plain = false; bool pencilled = false;
    BENTLINE_INTENT(HandOut, "hand-out", path, plain, pencilled)
};
struct Leave { BENTLINE_INTENT(Leave, "leave") };
// What the journal kept of an evening that ended badly: taken up again, or thrown away.
struct Recover { bool take = true; BENTLINE_INTENT(Recover, "recover", take) };
struct Unsaved { Answer answer{}; BENTLINE_INTENT(Unsaved, "unsaved", answer) };

// Over the sheets
struct Show { Overlay overlay{}; BENTLINE_INTENT(Show, "show", overlay) };
struct Dismiss { BENTLINE_INTENT(Dismiss, "dismiss") };  // the sentence at the top
struct StopWork { BENTLINE_INTENT(StopWork, "stop-work") };
struct Wait { BENTLINE_INTENT(Wait, "wait") };  // until no work runs; in scripts
struct SetPaper { bool dark = false; BENTLINE_INTENT(SetPaper, "dark-paper", dark) };
struct SetScale { double scale = 1.0; BENTLINE_INTENT(SetScale, "scale", scale) };
struct BindKey { std::string stroke, command; BENTLINE_INTENT(BindKey, "bind", stroke, command) };

// Playing
// Only this part of the recording is worked on from now on.
struct TakePart { Seconds from, to; BENTLINE_INTENT(TakePart, "take-part", from, to) };
struct PlayStop { BENTLINE_INTENT(PlayStop, "play-stop") };
struct GoTo { Seconds time; BENTLINE_INTENT(GoTo, "go", time) };
struct LoopOver { Seconds from, to; BENTLINE_INTENT(LoopOver, "loop", from, to) };
struct LoopBars { int first = 1, last = 1; BENTLINE_INTENT(LoopBars, "loop-bars", first, last) };
struct LoopOff { BENTLINE_INTENT(LoopOff, "loop-off") };
struct MoveLoop { Edge edge{};
    int beats = 0;
    BENTLINE_INTENT(MoveLoop, "move-loop", edge, beats)
};
struct SetSpeed { double speed = 1.0; BENTLINE_INTENT(SetSpeed, "speed", speed) };
struct StepSpeed { int steps = 0; BENTLINE_INTENT(StepSpeed, "step-speed", steps) };
struct SetLevel { Decibels level; BENTLINE_INTENT(SetLevel, "level", level) };
struct SetRetune { Cents cents; BENTLINE_INTENT(SetRetune, "retune-sound", cents) };
struct SetCountIn { int clicks = 0; BENTLINE_INTENT(SetCountIn, "count-in", clicks) };
// Speeds as shares of the recording's own; rounds of the loop at each speed.
struct SetTrainer {
    double start = 0.5, step = 0.05, end = 1.0; int rounds = 2;
    BENTLINE_INTENT(SetTrainer, "trainer", start, step, end, rounds)
};
struct TrainerOff { BENTLINE_INTENT(TrainerOff, "trainer-off") };
struct ChooseDevice { std::string device; BENTLINE_INTENT(ChooseDevice, "device", device) };
// 0: the recording alone, 0.5: both, 1: the draft alone, on a plucked string.
struct SetBalance { double balance = 0; BENTLINE_INTENT(SetBalance, "balance", balance) };
// The recording left, the draft right; or both in the middle.
struct HearApart { bool on = false; BENTLINE_INTENT(HearApart, "apart", on) };
struct HearFocus { bool only = false; BENTLINE_INTENT(HearFocus, "hear-focus", only) };

// Looking
struct ShowSpan { Seconds from, to; BENTLINE_INTENT(ShowSpan, "look-at", from, to) };
struct ShowRows { int lowest = 52, above = 77; BENTLINE_INTENT(ShowRows, "rows", lowest, above) };
struct Zoom { double factor = 1.0; BENTLINE_INTENT(Zoom, "zoom", factor) };
struct Measure { Seconds from, to; BENTLINE_INTENT(Measure, "measure", from, to) };
// Staff and tablature under the bench; the recording's spectrum, faint, behind it.
struct ShowManuscript { bool on = true; BENTLINE_INTENT(ShowManuscript, "manuscript", on) };
struct ShowSpectrum { bool on = false; BENTLINE_INTENT(ShowSpectrum, "spectrum", on) };
struct SetPosition { int fret = 0; BENTLINE_INTENT(SetPosition, "position", fret) };

// Picking
struct Pick { std::int64_t note = 0; BENTLINE_INTENT(Pick, "pick", note) };
struct PickStep { int steps = 0; BENTLINE_INTENT(PickStep, "pick-step", steps) };
struct PickNone { BENTLINE_INTENT(PickNone, "pick-none") };

// Notes
struct Ink { BENTLINE_INTENT(Ink, "ink") };  // and stay
struct InkOn { BENTLINE_INTENT(InkOn, "ink-on") };  // and pick the next pencilled note
struct PencilAgain { BENTLINE_INTENT(PencilAgain, "pencil") };
struct Discard { BENTLINE_INTENT(Discard, "discard") };
struct InkBars { int first = 1, last = 1; BENTLINE_INTENT(InkBars, "ink-bars", first, last) };
struct SetThreshold {
    double confidence = 0.8;
    BENTLINE_INTENT(SetThreshold, "threshold", confidence)
};
struct InkConfident { BENTLINE_INTENT(InkConfident, "ink-confident") };
struct MoveNote { Edge edge{};
    Seconds by;
    BENTLINE_INTENT(MoveNote, "move", edge, by)
};
struct PlaceNote { Seconds from, to; BENTLINE_INTENT(PlaceNote, "place", from, to) };
struct StepPitch { int semitones = 0; BENTLINE_INTENT(StepPitch, "step-pitch", semitones) };
struct Split { Seconds at; BENTLINE_INTENT(Split, "split", at) };
struct JoinNext { BENTLINE_INTENT(JoinNext, "join-next") };
struct AddNote { Seconds from, to; int key = 60; BENTLINE_INTENT(AddNote, "add", from, to, key) };
struct AddHere { BENTLINE_INTENT(AddHere, "add-here") };  // at the play line, at the line's pitch
// "There is a note here": a mark at the play line for pencilling again; set again, it goes.
struct MarkHere { BENTLINE_INTENT(MarkHere, "mark-here") };
// Another reading of a doubtful note: the next of its alternatives, or one of them (0: the first).
struct NextReading { BENTLINE_INTENT(NextReading, "next-reading") };
struct TakeReading { int which = 0; BENTLINE_INTENT(TakeReading, "reading", which) };
struct SplitHere { BENTLINE_INTENT(SplitHere, "split-here") };  // at the play line, else the middle

// Inflections of the note; a size of 0 (or "no") takes the inflection away.
struct SetBend {
    Cents size; bool release = false, prebend = false;
    BENTLINE_INTENT(SetBend, "bend", size, release, prebend)
};
struct StepBend { int quarters = 0; BENTLINE_INTENT(StepBend, "step-bend", quarters) };
struct TurnRelease { BENTLINE_INTENT(TurnRelease, "turn-release") };  // of the bend, on or off
struct TurnPrebend { BENTLINE_INTENT(TurnPrebend, "turn-prebend") };
// Semitones from which it is slid: -2 from two frets below.
struct SetSlideIn { int semitones = 0; BENTLINE_INTENT(SetSlideIn, "slide-in", semitones) };
struct SetSlideOut { int semitones = 0; BENTLINE_INTENT(SetSlideOut, "slide-out", semitones) };
struct SetSlideOn { bool on = false; BENTLINE_INTENT(SetSlideOn, "slide-on", on) };
struct SetVibrato { Hertz rate; Cents depth; BENTLINE_INTENT(SetVibrato, "vibrato", rate, depth) };
struct SetTrill { int semitones = 0; BENTLINE_INTENT(SetTrill, "trill", semitones) };
struct SetStaccato { bool on = false; BENTLINE_INTENT(SetStaccato, "staccato", on) };
struct SetAccent { bool on = false; BENTLINE_INTENT(SetAccent, "accent", on) };
// Adds the inflection if the note lacks it (measured from the line where it can be), takes it away
// otherwise. `kind` as files name it: "vibrato".
struct Turn { std::string kind; BENTLINE_INTENT(Turn, "turn", kind) };

// Strings: where the note is played. The next string that has its pitch, thinner for +1; a string by
// its number (1: the thinnest); or wherever the hand best goes.
struct StepString { int steps = 0; BENTLINE_INTENT(StepString, "step-string", steps) };
struct SetString { int string = 1; BENTLINE_INTENT(SetString, "string", string) };
struct AnyString { BENTLINE_INTENT(AnyString, "any-string") };

// Bars
// Moves one beat (0: the first of bar 1) to a time between its neighbours.
struct DragBeat {
    int beat = 0; Seconds to;
    BENTLINE_INTENT(DragBeat, "drag-beat", beat, to)
};
struct BarOneAt { Seconds time; BENTLINE_INTENT(BarOneAt, "bar-one", time) };
struct SetTempo { double bpm = 120; BENTLINE_INTENT(SetTempo, "tempo", bpm) };
struct Tap { Seconds time; BENTLINE_INTENT(Tap, "tap", time) };
struct SetMetre { std::string metre; BENTLINE_INTENT(SetMetre, "metre", metre) };
struct SetKey { std::string key; BENTLINE_INTENT(SetKey, "key", key) };
struct SetForm { std::string form; BENTLINE_INTENT(SetForm, "form", form) };
// The letter of the section that begins at a bar; empty takes the beginning away.
struct SetSection {
    int bar = 1; std::string letter;
    BENTLINE_INTENT(SetSection, "section", bar, letter)
};
struct SetChord {
    int bar = 1, beat = 1; std::string chord;
    BENTLINE_INTENT(SetChord, "chord", bar, beat, chord)
};

// What heads the sheet that is handed out.
struct SetHeading {
    std::string title, players;
    BENTLINE_INTENT(SetHeading, "heading", title, players)
};

// Focus
struct SetRegister {
    int lowest = 40, highest = 88;
    BENTLINE_INTENT(SetRegister, "register", lowest, highest)
};
struct SetStage { double place = 0, width = 2; BENTLINE_INTENT(SetStage, "stage", place, width) };
struct Repencil { BENTLINE_INTENT(Repencil, "pencil-again") };  // the loop, or all; inked notes stay

// Back and forth
struct Undo { BENTLINE_INTENT(Undo, "undo") };
struct Redo { BENTLINE_INTENT(Redo, "redo") };
struct GoBackTo { int edits = 0; BENTLINE_INTENT(GoBackTo, "back-to", edits) };  // so many edits done

#undef BENTLINE_INTENT

// clang-format on
}  // namespace intents

using AnyIntent = std::variant<
    intents::Open, intents::OpenDemo, intents::Choose, intents::LookIn, intents::LookAtFile,
    intents::Save, intents::SaveAs, intents::ExportMidi, intents::HandOut, intents::Leave,
    intents::Unsaved, intents::Recover, intents::Show, intents::Dismiss, intents::StopWork,
    intents::Wait, intents::SetPaper, intents::SetScale, intents::BindKey, intents::PlayStop,
    intents::GoTo, intents::LoopOver, intents::LoopBars, intents::LoopOff, intents::MoveLoop,
    intents::SetSpeed, intents::StepSpeed, intents::SetLevel, intents::SetRetune,
    intents::SetCountIn, intents::SetTrainer, intents::TrainerOff, intents::ChooseDevice,
    intents::HearFocus, intents::SetBalance, intents::HearApart, intents::ShowSpan,
    intents::ShowRows, intents::TakePart, intents::Zoom, intents::Measure, intents::SetPosition,
    intents::ShowManuscript, intents::ShowSpectrum, intents::StepString, intents::SetString,
    intents::AnyString, intents::DragBeat, intents::Pick, intents::PickStep, intents::PickNone,
    intents::Ink, intents::InkOn, intents::PencilAgain, intents::Discard, intents::InkBars,
    intents::SetThreshold, intents::InkConfident, intents::MoveNote, intents::PlaceNote,
    intents::StepPitch, intents::Split, intents::JoinNext, intents::AddNote, intents::AddHere,
    intents::SplitHere, intents::MarkHere, intents::NextReading, intents::TakeReading,
    intents::SetBend, intents::StepBend, intents::TurnRelease, intents::TurnPrebend,
    intents::SetSlideIn, intents::SetSlideOut, intents::SetSlideOn, intents::SetVibrato,
    intents::SetTrill, intents::SetStaccato, intents::SetAccent, intents::Turn, intents::BarOneAt,
    intents::SetTempo, intents::Tap, intents::SetMetre, intents::SetKey, intents::SetForm,
    intents::SetSection, intents::SetChord, intents::SetHeading, intents::SetRegister,
    intents::SetStage, intents::Repencil, intents::Undo, intents::Redo, intents::GoBackTo>;

// One of them. What copies, moves and destroys it stands in one source: written out at every place
// that hands an intent on, those functions over all alternatives cost more compile time than the
// rest of the view.
struct Intent : AnyIntent {
    template <class One>
    requires requires { One::word; }
    Intent(One one) : AnyIntent(std::in_place_type<One>, std::move(one)) {}
    Intent(const Intent& other);
    Intent(Intent&& other) noexcept;
    Intent& operator=(const Intent& other);
    Intent& operator=(Intent&& other) noexcept;
    ~Intent();
    friend bool operator==(const Intent& a, const Intent& b);
};

// One line, without the newline; numbers in their shortest exact form, texts in quotes.
std::string to_line(const Intent& intent);
// The opposite. Fails with out_of_range, and says which word or field it did not understand.
Result<Intent> parse_line(std::string_view line);

}  // namespace bentline::window
