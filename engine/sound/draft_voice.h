// The draft, played: a plucked string that follows the recording's time.
//
// One string at a time, as the line is one: a new stroke damps the note before it. A note that is
// slid into from the one before sounds on without a stroke. Strokes begin at the frame that their
// onset falls on. Slower speed makes notes longer and their bends, slides and vibrato slower, as in
// the slowed recording; the string itself rings as long as ever. After a jump into a note that
// still has at least voice_shortest_rest to go, it is struck there, as far down as it would have
// died away.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>

#include "engine/listening/second_source.h"
#include "engine/sound/played_part.h"
#include "engine/sound/plucked_string.h"
#include "engine/units.h"

namespace bentline {

inline constexpr Seconds voice_shortest_rest{0.06};

// Deterministic: the same places give the same samples. Output at most 1 in size (a soft knee bends
// what goes beyond 0.8).
class DraftVoice final : public SecondSource {
  public:
    // Allocates; keeps the part alive. [any]
    DraftVoice(std::shared_ptr<const PlayedPart> part, SampleRate rate,
               const StringSettings& settings = {});

    void set_rate(SampleRate rate) override;
    void render(PlaceInTime place, Cents retune, std::span<float> out) override;
    void take_over(SecondSource& before) override;
    void hush() override;
    bool silent() const { return strings_[0].silent() && strings_[1].silent(); }

  private:
    // What a string is doing. Copied as a whole when another voice takes over.
    struct State {
        std::optional<PlayedNote> note;  // that sounds or has just ended
        bool released = true;
        PitchCourse before;  // the course that an unstruck note came from
        Seconds since;       // when it took over from it
        bool joins = false;
        int to_steer = 0;                 // frames until the pitch is looked at again
        Seconds stroke;                   // when the string was struck last
        Decibels struck_level;            // and how hard
        std::optional<Seconds> expected;  // place of the next block
        std::size_t string = 0;           // the one that sounds
        std::array<double, 2> colour{};   // pickup filter
        std::uint32_t strokes = 0;
    };

    void jump(Seconds at, const PlaceInTime& place, Cents retune);
    void begin(const PlayedNote& note, Seconds at, const PlaceInTime& place, Cents retune);
    void strike(const PlayedNote& note, Seconds at, Decibels level, const PlaceInTime& place,
                Cents retune);
    void steer(Seconds at, const PlaceInTime& place, Cents retune);
    Hertz pitch_at(Seconds at, Seconds a_frame, Cents retune) const;
    double coloured(double x);
    PluckedString& string() { return strings_[state_.string]; }

    std::shared_ptr<const PlayedPart> part_;
    StringSettings settings_;
    SampleRate rate_;
    std::array<PluckedString, 2> strings_;
    std::size_t next_ = 0;  // the first note whose onset has not been reached
    State state_;
    // The pickup's resonance: a lowpass of the second order.
    double b0_ = 1.0;
    double b1_ = 0.0;
    double a1_ = 0.0;
    double a2_ = 0.0;
};

}  // namespace bentline
