// Everything that the window shows, as plain values. The view reads it, only actions change it.
#pragma once

#include <filesystem>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "engine/draft/draft.h"
#include "engine/export/engraving/ink.h"
#include "engine/listening/player_core.h"
#include "engine/pitch/curve.h"
#include "engine/recording/overview.h"
#include "engine/recording/recording.h"
#include "engine/recording/stage.h"
#include "engine/score/score.h"
#include "engine/tab/finger_draft.h"
#include "ui/window/chooser.h"
#include "ui/window/intent.h"
#include "ui/window/measure.h"
#include "ui/window/spectrum.h"

namespace bentline::window {

// One sentence for the player.
struct Notice {
    bool failed = false;
    std::string sentence;
    friend bool operator==(const Notice&, const Notice&) = default;
};

// Work that runs beside the window.
struct WorkSeen {
    std::string words;   // "Following the pitch"
    double share = 0.0;  // 0 to 1
};

struct PlayState {
    bool playing = false;
    Seconds at;                        // what is heard now, recording time
    double speed = 1.0;                // 0.1 to 2
    Cents retune{0.0};                 // -1200 to 1200
    Decibels level{-18.0};             // of the output, -60 to 0: starts quiet
    bool focus_only = false;           // hear only what lies inside the focus
    std::optional<SecondsRange> loop;  // empty: no loop
    int count_in = 0;                  // clicks before the sound
    std::optional<SpeedTrainer> trainer;
    std::int64_t round = 0;            // rounds of the loop so far
    std::vector<std::string> devices;  // outputs there were when last looked
    std::string device;                // the chosen one; empty: the system's own choice
    double balance = 0.0;              // 0: the recording alone … 1: the draft alone
    bool apart = false;                // the recording left, the draft right
    std::string trouble;               // why nothing can be heard; empty: all is well
};

// Where the player was in a file.
struct Place {
    double at_s = 0.0, look_from_s = 0.0, look_to_s = 0.0;
    double loop_from_s = 0.0, loop_to_s = 0.0;  // the same: no loop
    double speed = 1.0;
    friend bool operator==(const Place&, const Place&) = default;
};

// Kept from one evening to the next.
struct Remembered {
    std::vector<std::string> recent;          // files, the latest first
    std::map<std::string, std::string> keys;  // stroke -> command, where it differs from the start
    bool dark = false;
    double scale = 1.0;
    double level_db = -18.0;
    std::string device;
    bool manuscript = true;               // staff and tablature under the bench
    std::map<std::string, Place> places;  // of the recent files
    friend bool operator==(const Remembered&, const Remembered&) = default;
};

// The draft as it would be written out: made anew beside the window after every edit.
struct Written {
    std::shared_ptr<const Score> score;  // empty: there are no bars
    std::shared_ptr<const DraftFingering> fingering;
};

// Some bars of that, engraved so that every head stands under its time on the bench. Lengths are
// staff spaces; x is counted from the time `from`; y from the staff's middle line and from the
// tablature's first line.
struct ManuscriptLine {
    std::vector<engraving::Mark> staff, tab;
    double tab_down = 0.0;  // from the staff's middle line to the tablature's first
    double above = 0.0;     // from its highest ink down to the staff's middle line
    int strings = 6;
    Seconds from;
    double spaces_a_second = 1.0;
    SecondsRange covers;   // whole bars
    bool thinned = false;  // grace notes are left out where they would lie on their neighbours
};

// The room that the manuscript has needed so far in this draft, staff spaces: it grows, and never
// shrinks, so that the bench above stays where it is.
struct ManuscriptRoom {
    double above = 8.7;    // over the staff's middle line
    double between = 5.4;  // from there to the tablature's first line
};

// The recording and what was measured on it. Empty pointers: not there (yet).
struct Heard {
    std::optional<RecordingInfo> info;
    std::shared_ptr<const Overview> overview;
    std::shared_ptr<const PitchCurve> line;
    Decibels loudest{0.0};                      // of the line, for its thickness
    std::shared_ptr<const StageProfile> stage;  // of the loop, or of the whole
    std::shared_ptr<const Spectrum> spectrum;   // asked for only
};

// Edits that a journal kept from an evening that ended badly; they wait for an answer.
struct Kept {
    std::size_t edits = 0;
    std::vector<std::string> last_words;  // of the last few, the last last
    bool cut_off = false;                 // one at the end was broken off and is lost
};

struct State {
    // The document
    bool open = false;  // there is a draft on the desk
    Draft draft;
    std::filesystem::path draft_file;  // empty: never saved
    bool unsaved = false;
    std::vector<std::string> done;    // edits done, in words, the first first
    std::vector<std::string> undone;  // edits that can be redone, the next first
    Heard heard;

    std::optional<Kept> kept;

    Written written;
    std::shared_ptr<const ManuscriptLine> manuscript;  // around what is looked at
    ManuscriptRoom manuscript_room;
    // A first pencilling has not ended: what key its notes propose may not be the last word.
    bool key_waits = false;
    bool spectrum_shown = false;  // faint, behind the grid

    // On the desk
    PlayState play;
    std::optional<NoteId> pick;
    SecondsRange look{Seconds(0), Seconds(10)};  // what the bench shows
    Range<int> rows{52, 77};                     // MIDI keys that the bench shows
    int position = 5;                            // fret of the first finger, for the neck marks
    double threshold = 0.85;                     // for inking the confident notes at once
    std::optional<Measured> measured;
    std::vector<Seconds> taps;  // of the beat, the last few

    // Over the desk
    Overlay overlay = Overlay::none;
    Chooser chooser;
    std::optional<Notice> notice;
    std::vector<WorkSeen> work;
    bool leaving = false;  // the window may close

    Remembered remembered;

    // Of the recording; where it is not here, until a little after the last note.
    Seconds duration() const {
        if (heard.info) return heard.info->duration();
        const Seconds last =
            draft.notes.empty() ? Seconds(10) : draft.notes[draft.notes.size() - 1].note.offset;
        return last + Seconds(5);
    }
    const DraftNote* picked() const { return pick ? draft.notes.find(*pick) : nullptr; }
};

}  // namespace bentline::window
