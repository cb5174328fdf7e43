// The inside of a desk: state, history, work, sound, and one function an intent.
#pragma once

#include <optional>
#include <string>

#include "engine/draft/history.h"
#include "engine/export/engraving/fonts.h"
#include "engine/listening/player.h"
#include "engine/sound/played_part.h"
#include "ui/window/desk.h"
#include "ui/window/journal_keeper.h"
#include "ui/window/work_pool.h"

namespace bentline::window {

struct Desk::Inside {
    explicit Inside(const DeskSettings& settings);

    DeskSettings settings;
    State state;
    std::optional<History> history;
    std::shared_ptr<const Audio> audio;        // of the recording, or of the part that is worked on
    std::shared_ptr<const Audio> heard_sound;  // what the player has: that, or what is read of it
    std::optional<Seconds> waits_at;           // beyond heard_sound: played from once it is read
    JobId reading_job = 0;
    bool looking_over = false;      // an overview is being made
    bool recording_wanted = false;  // the draft's recording is missing, or not the one
    std::optional<Player> player;
    bool device_open = false;
    std::shared_ptr<const PlayedPart> played_part;  // the draft as the plucked string plays it
    bool heard_playing = false;                     // the player has begun what was asked of it
    SecondsRange followed;                          // the look when the play line was last in it
    std::optional<Intent> pending;                  // waits for the answer about unsaved changes
    Remembered written;                             // as last written to the file
    bool remembering = false;                       // a write to that file is under way
    JobId stage_job = 0;
    std::vector<Change> kept_changes;  // of state.kept
    std::uint64_t mark = 0;            // of the draft file as it was loaded or saved last
    bool journal_begun = false;
    JournalKeeper keeper;

    bool writing = false, write_again = false;
    bool engraving_now = false;
    std::uint64_t written_version = 0, engraved_version = 0;
    std::shared_ptr<const engraving::Fonts> fonts;  // read once, by the first that needs it
    std::string fonts_trouble;
    double bench_spaces = 120.0;  // width of the grid, staff spaces of the manuscript
    JobId spectrum_job = 0;
    JobId preview_job = 0;
    JobId pencil_job = 0;
    std::size_t readings_tried = 0;  // of the picked note
    // The hint that was changed last in the soloist's sheet; what follows of it is the same step.
    enum class Hint { range, stage };
    std::optional<Hint> riding;
    WorkPool pool;

    // --- what several actions need
    void say(std::string sentence);
    void fail(const Failure& failure);
    void refuse(std::string sentence);
    // Applies an edit to the history and shows its outcome; false (and said) where it does not fit.
    // goes_on: it becomes one step with the last one (History::edit).
    bool edit(const Edit& edit, bool goes_on = false);
    // One step for each hint and visit of the soloist's sheet.
    void edit_focus(const Focus& focus, Hint hint);
    // Writes down what was done since the history stood at `before`, for the journal.
    void keep(const Draft& before, const Change& change);
    void begin_journal(const std::vector<Change>& recovered = {});
    std::filesystem::path unsaved_folder() const;  // empty: unsaved drafts are not kept
    void end_journal();                            // closed in good order
    void offer_kept(std::vector<Change> changes, bool cut_off);
    void step_back();  // one step of the history, kept in the journal, too
    void step_on();
    // Copies what the history now holds into the state.
    void show_history();
    const DraftNote* note_or_say();
    void pick(std::optional<NoteId> id);
    void look_at(SecondsRange span);
    void fit_rows();
    static int top_of(const Note& note);     // the highest key that its drawing needs
    void show_change(const Change& change);  // brings what changed into view
    void rows_for(int lowest, int highest);  // moves the rows so that these keys are on them
    void keep_in_view(SecondsRange span);
    void seek(Seconds time);
    bool in_recording(Seconds time);   // else says so
    bool on_desk(Seconds time) const;  // in what is held in memory
    void set_loop(std::optional<SecondsRange> loop);
    void set_inflection(const DraftNote& note, InflectionKind what);
    void drop_inflection(const DraftNote& note, InflectionKind like);
    void set_bars(Result<BarMap> bars, std::string words);
    // True when nothing unsaved stands in the way; else asks, and remembers what for.
    bool may_go_on(const Intent& then);
    void look_in(const std::filesystem::path& folder);
    void remember();
    void keep_place();  // of the file on the desk, for the next time
    void find_place();
    void put_first(const std::filesystem::path& file);  // among the recent files
    void stop_work();

    // --- the chain from a file to a draft with its line
    void show_document(Draft draft, std::optional<RecordingInfo> info);
    void open(const std::filesystem::path& path);  // whatever it is
    // Opens it unless it is the recording that the draft on the desk lacks: then the draft takes
    // it.
    void open_or_find(const std::filesystem::path& path);
    void take_recording(const RecordingRef& ref, const RecordingInfo& info);
    // Of the recording on the desk: the chorus, or all of it, as far as it fits into memory.
    SecondsRange part_to_read();
    // Reads a part of the recording: what lies around the play line first, so that it is heard at
    // once; what is worked on when all of it is there.
    void read_sound(SecondsRange part);
    void draw_overview();                           // of a recording that is not wholly in memory
    void hear(std::shared_ptr<const Audio> sound);  // to the player: a first part, or more
    void forget_sound();                            // of what is no longer on the desk
    void follow_line();
    // Pencils everything, the looped bars (else what the bench shows) first.
    void pencil_all();
    bool pencils() const;  // the job that pencils notes waits or runs
    void take_line(PitchCurve line);
    void take_part_of_line(const PitchCurve& part, SecondsRange span);
    void take_pencilled(SecondsRange span, const std::vector<Note>& notes, Cents tuning);
    void keep_pick(Seconds onset);  // on the note that begins there now
    void measure_stage();
    void save_to(const std::filesystem::path& path, std::optional<Intent> then);
    void write_lesson(const std::filesystem::path& path, WhichNotes which);

    // --- the manuscript and the spectrum (act_manuscript.cpp)
    void write_out();     // score and fingering of the draft as it is now
    void engrave_look();  // the bars around the look, once they are written and the look moved
    void make_spectrum();

    // --- the player
    void load_player();
    bool open_device();  // false, and said, where it cannot
    void send_play_settings();
    void send_all_settings();  // with loop and place
    void send_part();          // the draft's part to the player
    void tick_player();
    void follow_play();  // moves the look along with the play line

    // --- one an intent
    void on(const intents::Open&);
    void on(const intents::OpenDemo&);
    void on(const intents::Choose&);
    void on(const intents::LookIn&);
    void on(const intents::LookAtFile&);
    void on(const intents::Save&);
    void on(const intents::SaveAs&);
    void on(const intents::ExportMidi&);
    void on(const intents::HandOut&);
    void on(const intents::Leave&);
    void on(const intents::Unsaved&);
    void on(const intents::Recover&);
    void on(const intents::Show&);
    void on(const intents::Dismiss&);
    void on(const intents::StopWork&);
    void on(const intents::Wait&);
    void on(const intents::SetPaper&);
    void on(const intents::SetScale&);
    void on(const intents::BindKey&);
    void on(const intents::PlayStop&);
    void on(const intents::GoTo&);
    void on(const intents::LoopOver&);
    void on(const intents::LoopBars&);
    void on(const intents::LoopOff&);
    void on(const intents::MoveLoop&);
    void on(const intents::SetSpeed&);
    void on(const intents::StepSpeed&);
    void on(const intents::SetLevel&);
    void on(const intents::SetRetune&);
    void on(const intents::SetCountIn&);
    void on(const intents::SetTrainer&);
    void on(const intents::TrainerOff&);
    void on(const intents::ChooseDevice&);
    void on(const intents::HearFocus&);
    void on(const intents::SetBalance&);
    void on(const intents::HearApart&);
    void on(const intents::ShowSpan&);
    void on(const intents::ShowRows&);
    void on(const intents::TakePart&);
    void on(const intents::Zoom&);
    void on(const intents::Measure&);
    void on(const intents::SetPosition&);
    void on(const intents::ShowManuscript&);
    void on(const intents::ShowSpectrum&);
    void on(const intents::Pick&);
    void on(const intents::PickStep&);
    void on(const intents::PickNone&);
    void on(const intents::Ink&);
    void on(const intents::InkOn&);
    void on(const intents::PencilAgain&);
    void on(const intents::Discard&);
    void on(const intents::InkBars&);
    void on(const intents::SetThreshold&);
    void on(const intents::InkConfident&);
    void on(const intents::MoveNote&);
    void on(const intents::PlaceNote&);
    void on(const intents::StepPitch&);
    void on(const intents::Split&);
    void on(const intents::JoinNext&);
    void on(const intents::AddNote&);
    void on(const intents::AddHere&);
    void on(const intents::SplitHere&);
    void on(const intents::MarkHere&);
    void on(const intents::NextReading&);
    void on(const intents::TakeReading&);
    void on(const intents::StepString&);
    void on(const intents::SetString&);
    void on(const intents::AnyString&);
    void on(const intents::DragBeat&);
    void on(const intents::SetBend&);
    void on(const intents::StepBend&);
    void on(const intents::TurnRelease&);
    void on(const intents::TurnPrebend&);
    void on(const intents::SetSlideIn&);
    void on(const intents::SetSlideOut&);
    void on(const intents::SetSlideOn&);
    void on(const intents::SetVibrato&);
    void on(const intents::SetTrill&);
    void on(const intents::SetStaccato&);
    void on(const intents::SetAccent&);
    void on(const intents::Turn&);
    void on(const intents::BarOneAt&);
    void on(const intents::SetTempo&);
    void on(const intents::Tap&);
    void on(const intents::SetMetre&);
    void on(const intents::SetKey&);
    void on(const intents::SetForm&);
    void on(const intents::SetSection&);
    void on(const intents::SetChord&);
    void on(const intents::SetHeading&);
    void on(const intents::SetRegister&);
    void on(const intents::SetStage&);
    void on(const intents::Repencil&);
    void on(const intents::Undo&);
    void on(const intents::Redo&);
    void on(const intents::GoBackTo&);
};

}  // namespace bentline::window
