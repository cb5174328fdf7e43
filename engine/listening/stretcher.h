// The stretcher: changes the speed of sound and keeps its pitch, or moves its pitch, or both.
//
// Streaming and by pull: it renders the next output frames and reads what it needs of the line
// (frame_source.h) ahead of them, so its output delay is zero frames: the first frame rendered
// after start(p) is what is heard at line frame p. It looks ahead in the line by lookahead()
// frames.
//
// Shapes: one or two channels, planar, at most max_block frames a call. Speed 0.1 to 2 (1 = as
// recorded), retune -1200 to 1200 cents; both may change between any two calls without a click, and
// are heard at the next analysis frame (within 12 ms). At speed 1, 0 cents and equal rates the
// output is the input, sample for sample; getting there from another speed takes one short
// cross-fade. Deterministic: the output depends on the line and the calls alone, not on the block
// size. Memory: bounded by the rate (under 1 MB at 48 kHz), all of it allocated by the constructor.
//
// Attack times and phases are decided once for all channels, so the stereo image stands; a silent
// channel stays silent.
//
// Which of the published designs, and why (measured beside each other in
// tests/reference/README.md): identity phase locking (Laroche & Dolson 1999) for partials, because
// a rotation a peak can be corrected for a moving pitch; phase-gradient integration (Prusa &
// Holighaus 2017) has the better attacks of the two, but bends lag by 0.4 cents and vibrato by 2.7,
// and clicks are heard again. The time domain for attacks: frames end and begin there, and the
// attack is laid down as recorded; of the others only the harmonic/percussive split (Fitzgerald
// 2010) hears each click once, and it takes a pluck's partials apart. One length of frames: three
// resolutions blur vibrato by 7 cents. Noise is told apart by its bins' levels and made anew
// (Moliner et al. 2024). Methods and sources: vocoder.h (partials), attacks.h (attacks),
// noise_finder.h (noise).
#pragma once

#include <memory>
#include <span>

#include "engine/listening/frame_source.h"
#include "engine/recording/audio.h"
#include "engine/result.h"
#include "engine/units.h"
#include "engine/work.h"

namespace bentline {

inline constexpr double slowest = 0.1;  // speed
inline constexpr double fastest = 2.0;
inline constexpr Cents most_retune{1200.0};  // either way

// Whether a speed and a retune lie in the allowed ranges; the failure says which does not.
Result<Done> check_speed(double speed, Cents retune);

class Stretcher {
  public:
    // in: the line's rate, 4000 to 384000 Hz. out: the rate rendered; differs when a device cannot
    // play the recording's own. channels: 1 or 2. Allocates. [any]
    Stretcher(SampleRate in, int channels, SampleRate out);
    Stretcher(SampleRate rate, int channels) : Stretcher(rate, channels, rate) {}
    ~Stretcher();
    Stretcher(Stretcher&&) noexcept;
    Stretcher& operator=(Stretcher&&) noexcept;

    // speed: slowest to fastest; retune: within most_retune. [audio]
    void set_speed(double speed);
    void set_retune(Cents retune);
    double speed() const;
    Cents retune() const;

    // Forgets everything; the next frame rendered is line frame `place`. [audio]
    void start(Frames place);
    // The line has changed behind the next output frame (a loop was set, a filter switched): what
    // was read ahead is read again. What was heard so far still sounds out smoothly. [audio]
    void reread();

    // Renders the next `count` frames into out[c]. Never allocates, locks, throws or waits. [audio]
    void render(FrameSource& line, std::span<float* const> out, std::size_t count);

    // The line place under the next output frame: exact, with its fraction of a frame. [audio]
    double place() const;
    // How far beyond place() the line may be read, at most. [any]
    Frames lookahead() const;
    // The output's delay against place(): zero frames, whatever the speed. [any]
    static constexpr Frames delay() { return Frames(0); }

  private:
    struct Parts;
    std::unique_ptr<Parts> parts_;
};

// The whole of `in`, slowed: rate and channels as in, length exactly round(frames / speed), start
// 0. Samples that are not numbers are read as silence. Fails on out_of_range speed or retune, and
// when stopped. [worker]
Result<Audio> slow_down(const Audio& in, double speed, Cents retune, const Work& work = {});

}  // namespace bentline
