// Actions: the only thing that changes the draft, the player and the settings.
//
// A desk holds the state that the view draws. It carries out intents, starts long work beside the
// window and takes in what that work delivers. It needs no window: tests and session scripts drive
// it the same way. All calls from one thread. [window]
#pragma once

#include <filesystem>
#include <istream>
#include <memory>
#include <span>

#include "engine/result.h"
#include "ui/window/intent.h"
#include "ui/window/state.h"

namespace bentline::window {

// Where what is played goes.
enum class Sound {
    device,   // a sound device, opened when something is to be played
    by_hand,  // whoever holds the desk takes it with pull(), block by block, in a time of his own
    off,      // nowhere: nothing is played
};

struct DeskSettings {
    Sound sound = Sound::device;
    std::filesystem::path remember;  // file for what is kept between evenings; empty: nothing is
    bool journal = true;             // keep unsaved edits, to be found again after a crash
};

class Desk {
  public:
    explicit Desk(const DeskSettings& settings);
    ~Desk();  // stops all work
    Desk(const Desk&) = delete;
    Desk& operator=(const Desk&) = delete;

    const State& state() const;
    // Carries an intent out. What cannot be done is said in state().notice, and nothing else
    // changes.
    void apply(const Intent& intent);
    // Takes in what work has delivered, where the player is, and how far work has come. Once a
    // frame.
    void tick();
    // How wide the bench's grid is on screen, in staff spaces of the manuscript (staff_space), so
    // that what is engraved stands under it. 10 to 2000.
    void set_bench_width(double spaces);
    // With Sound::by_hand: fills left and right, of one length, with what a device would be given
    // next, at the recording's rate; silence before anything was played. Call it in turn with
    // tick(): the same calls give the same samples on every machine.
    void pull(std::span<float> left, std::span<float> right);
    // Blocks until no work runs, taking in what it delivers.
    void wait_for_work();

  private:
    struct Inside;
    std::unique_ptr<Inside> inside_;
};

// Plays the lines of a session script on a desk: blank lines and lines that begin with # are passed
// over, "wait" waits for work. Fails at the first line that cannot be read, and names it.
Result<Done> play_session(Desk& desk, std::istream& script);

}  // namespace bentline::window
