// The player without a device: commands in, blocks of sound out, its status published.
//
// One thread, the window's, sends commands and reads the status; one other, the audio callback's,
// calls process(). Between them there are only lock-free queues and atomics. What was loaded before
// is freed on the window's thread, never in the callback.
//
// Starts quiet: level -18 dB until told otherwise, every start fades in, and a true-peak limiter
// keeps the output below -1 dBTP whatever comes (limiter.h). An order takes effect in the next
// block.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <span>

#include "engine/listening/second_source.h"
#include "engine/recording/audio.h"
#include "engine/recording/focus.h"
#include "engine/units.h"

namespace bentline {

// Clicks before the sound: `beats` of them, `beat` apart as heard; the sound starts a beat after
// the last one. beats: 0 to 64; beat: 0.05 to 10 s.
struct CountIn {
    int beats = 0;
    HeardSeconds beat{0.5};
};

// Raises the speed while a loop goes round: from `start`, by `step` after every `rounds` rounds,
// until `end` is reached (step may be negative when end < start). Speeds 0.1 to 2, rounds at
// least 1.
struct SpeedTrainer {
    double start = 0.5;
    double step = 0.05;
    int rounds = 2;
    double end = 1.0;
};

inline constexpr Decibels first_level{-18.0};
inline constexpr Decibels most_level{12.0};  // the limiter takes what is too much

// What the player does, seen from the window. A value; all of it from one moment.
struct PlayerStatus {
    bool loaded = false;
    bool playing = false;    // sound or count-in clicks are running
    int count_in_left = 0;   // clicks still to come
    Frames place;            // recording frame that is under the ear now
    std::int64_t round = 0;  // rounds of the loop completed since it was set or sought into
    double speed = 1.0;      // that is heard (the trainer changes it)
    Cents retune;
    std::optional<FramesRange> loop;
    Decibels peak{-200.0};  // of the output since the last 0.1 s, louder channel
    Decibels rms{-200.0};   // of the output over the last 0.3 s, mean of channels
    Decibels limiter_gain;  // 0 or below
    std::int64_t underruns = 0;
    bool second = false;   // there is a second source
    double balance = 0.0;  // see second_source.h
    bool split = false;
};

class PlayerCore {
  public:
    // device_rate: of the blocks asked for. Allocates. [window]
    explicit PlayerCore(SampleRate device_rate);
    ~PlayerCore();
    PlayerCore(const PlayerCore&) = delete;
    PlayerCore& operator=(const PlayerCore&) = delete;

    // --- [window]; each returns false when the queue is full (the callback has stalled): try
    // again. Loads (paused, at its first frame, no loop); speed, retune, level and focus stay.
    // Keeps the audio alive until it is replaced. Places below are frames of the recording, as in
    // Audio::start.
    bool load(std::shared_ptr<const Audio> audio);
    // More of the recording whose first part is loaded: goes on at the place, playing or not, with
    // its loop. Rate and channels as the part's, which it holds sample for sample.
    bool extend(std::shared_ptr<const Audio> audio);
    // Plays from the place; from the recording's end, where it stops by itself, from its beginning
    // again (of the loop, if there is one).
    bool play(CountIn count = {});
    bool pause();  // fades out in 10 ms and stops where it is
    bool seek(Frames place);
    // Loops [from, to): both within the sound and from < to, else nothing happens. Goes to `from`
    // if the place lies outside. Loops of any length, shorter than the analysis window too.
    bool loop(FramesRange range);
    bool loop_off();
    bool speed(double speed);      // clamped to 0.1 to 2; ends the trainer
    bool retune(Cents retune);     // clamped to +-1200
    bool level(Decibels level);    // up to most_level
    bool trainer(SpeedTrainer t);  // starts at once, with the loop's next round as the first
    bool trainer_off();            // stays at the speed reached
    bool focus(const Focus& focus);
    bool focus_off();
    // What plays beside the recording, at its places, round its loop, at its speed and retuned like
    // it; empty: nothing. May be replaced at any time, while playing too: the new one carries on
    // what the old one sounded, and the old one is freed on this thread. Heard only while a
    // recording is loaded.
    bool second(std::unique_ptr<SecondSource> source);
    bool balance(double balance);  // 0 (as at first) the recording alone … 1 the second alone
    bool split(bool apart);        // recording left, second right; false (as at first): both in
                                   // the middle

    PlayerStatus status() const;
    // Frees what the callback has let go of. Called by every command; call it now and then.
    // [window]
    void collect();
    // Waits for no one: only while no callback runs. [window]
    void set_device_rate(SampleRate rate);
    SampleRate device_rate() const;
    // How long after process() a frame is heard, in device frames; status().place allows for it.
    // [any]
    void set_output_latency(Frames latency);

    // --- [audio]
    // Fills out[0] and out[1] with the next `count` frames. Never allocates, locks, throws or
    // waits.
    void process(std::span<float* const> out, std::size_t count);
    void count_underrun();

  private:
    struct Parts;
    std::unique_ptr<Parts> parts_;
};

}  // namespace bentline
