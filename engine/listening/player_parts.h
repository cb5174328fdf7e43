// The callback's side of the player: what plays, and what is done to it block by block.
#pragma once

#include <array>
#include <atomic>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>

#include "engine/listening/focus_filter.h"
#include "engine/listening/limiter.h"
#include "engine/listening/meter.h"
#include "engine/listening/player_core.h"
#include "engine/listening/published.h"
#include "engine/listening/recording_line.h"
#include "engine/listening/second_source.h"
#include "engine/listening/spsc_queue.h"
#include "engine/listening/stretcher.h"

namespace bentline {

inline constexpr std::size_t piece_frames = 64;  // the callback works in pieces of at most this

// A recording on its way to the ear: line, focus filter, stretcher. Made and freed by the window.
struct Deck {
    Deck(const std::shared_ptr<const Audio>& audio, SampleRate device_rate);

    RecordingLine line;
    FocusFilter filter;
    std::unique_ptr<Stretcher> stretcher;  // renewed when the device's rate changes
    std::size_t channels;
};

struct PlayerCommand {
    enum class Kind {
        load,
        extend,
        play,
        pause,
        seek,
        loop,
        loop_off,
        speed,
        retune,
        level,
        trainer,
        trainer_off,
        focus,
        focus_off,
        second,
        balance,
        split
    };
    Kind kind = Kind::pause;
    double a = 0.0;
    double b = 0.0;
    Deck* deck = nullptr;
    SecondSource* second = nullptr;
    std::shared_ptr<const Audio>* sound = nullptr;
    SpeedTrainer trainer;
    Focus focus;
};

// PlayerStatus as plain words.
struct StatusWords {
    std::int64_t place = 0;
    std::int64_t round = 0;
    std::int64_t loop_from = 0;
    std::int64_t loop_to = 0;
    double speed = 1.0;
    double retune = 0.0;
    double peak = -200.0;
    double rms = -200.0;
    double limiter_gain = 0.0;
    double balance = 0.0;
    std::int32_t count_in_left = 0;
    bool loaded = false;
    bool playing = false;
    bool looping = false;
    bool second = false;
    bool split = false;
};

class PlayerStage {
  public:
    explicit PlayerStage(SampleRate device_rate);
    ~PlayerStage();
    PlayerStage(const PlayerStage&) = delete;
    PlayerStage& operator=(const PlayerStage&) = delete;

    void process(std::span<float* const> out, std::size_t count);  // [audio]
    void change_rate(SampleRate device_rate);  // while no callback runs [window]

    SampleRate rate;
    SpscQueue<PlayerCommand, 256> commands;  // window -> callback
    SpscQueue<Deck*, 256> retired;           // callback -> window
    SpscQueue<SecondSource*, 256> retired_seconds;
    SpscQueue<std::shared_ptr<const Audio>*, 256> retired_sounds;
    Published<StatusWords> published;
    std::atomic<std::int64_t> underruns{0};
    std::atomic<std::int64_t> output_latency{0};

  private:
    // What the ear hears at a device frame, to look up when that frame has reached it.
    struct Heard {
        std::int64_t frame = 0;
        double line = 0.0;  // line place at it
        double step = 0.0;  // line frames per device frame
        std::int64_t generation = 0;
        double place = 0.0;
        std::int64_t round = 0;
        std::optional<FramesRange> loop;
    };

    void obey(const PlayerCommand& c);
    void obey_waiting();  // what had to wait for silence
    void lead_from(std::int64_t place);
    void set_loop(std::optional<FramesRange> loop);
    void render_piece(std::span<float* const> out, std::size_t count);
    void take_second(SecondSource* second);
    void render_second(const Heard& from, std::size_t count);
    void mix_second(std::span<float* const> out, std::size_t count);
    void add_click(std::span<float* const> out, std::size_t count);
    bool at_end() const;  // of the recording
    void train();
    void remember(std::size_t count);
    void publish();
    double gain_step() const { return 1.0 / (0.008 * rate.value()); }

    Deck* deck_ = nullptr;
    Limiter limiter_;
    Meter meter_;
    double speed_ = 1.0;
    Cents retune_;
    double level_;
    double level_now_;
    bool focus_on_ = false;
    Focus focus_;

    bool playing_ = false;              // wanted
    double fade_ = 0.0;                 // 0 silent, 1 sounding
    std::optional<std::int64_t> seek_;  // waits for silence
    std::optional<Deck*> load_;         // waits for silence
    int clicks_left_ = 0;
    std::int64_t beat_frames_ = 0;
    std::int64_t to_beat_ = 0;     // device frames to the next click, or to the sound
    std::int64_t click_age_ = -1;  // frames since the click began, -1 none

    SecondSource* second_ = nullptr;
    bool second_leaves_ = false;  // fades out, then goes back to the window
    double balance_ = 0.0;
    bool split_ = false;
    BalanceGains gains_now_;
    double split_now_ = 0.0;  // 0 together, 1 apart
    std::array<float, piece_frames> second_frames_{};

    std::optional<SpeedTrainer> trainer_;
    std::int64_t trained_round_ = 0;

    std::int64_t frame_ = 0;       // device frames so far
    std::int64_t round_base_ = 0;  // rounds before the line was folded last
    std::array<Heard, 2048> heard_{};
    std::size_t heard_count_ = 0;
};

}  // namespace bentline
