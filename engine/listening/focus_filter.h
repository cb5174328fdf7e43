// Lets through what lies inside the focus: a stage place and a register, for listening.
#pragma once

#include <array>
#include <complex>
#include <vector>

#include "engine/listening/frame_source.h"
#include "engine/recording/focus.h"
#include "engine/transform/fft.h"

namespace bentline {

// Stands between a line and the stretcher. In short spectra each bin is given its place on the
// stage from the levels of the two channels (constant-power law: place = 4/pi * atan(R/L) - 1; the
// idea of Avendano 2003, "Frequency-domain source identification and manipulation in stereo mixes")
// and kept when that lies inside. The register passes from a semitone below its lowest note to two
// octaves above its highest, so that a note keeps its first partials. Edges are soft. Mono:
// register only. Off, it passes the line sample for sample; switching fades in 30 ms. No delay: it
// reads ahead.
class FocusFilter final : public FrameSource {
  public:
    FocusFilter(SampleRate rate, int channels);  // allocates [any]

    void set(FrameSource& line) { line_ = &line; }  // [audio]
    void switch_on(const Focus& focus);             // [audio]
    void switch_off() { target_ = 0.0F; }           // [audio]
    void restart();                                 // the line has changed: read it anew [audio]
    void read(Frames from, std::size_t count, std::span<float* const> out) override;

  private:
    void frame();

    SampleRate rate_;
    std::size_t channels_;
    std::size_t size_;
    std::size_t hop_;
    FrameSource* line_ = nullptr;
    RealFft fft_;
    std::vector<float> window_;
    std::vector<float> register_gain_;
    double place_ = 0.0;
    double reach_ = 2.0;  // full gain within this distance of the place
    float mix_ = 0.0F;
    float target_ = 0.0F;
    std::int64_t next_ = 0;                   // line place of the next frame to give
    bool fresh_ = true;                       // nothing read yet at next_
    std::int64_t head_ = 0;                   // line place where in_ begins
    std::size_t ready_ = 0;                   // finished frames of done_ not yet given
    std::array<std::vector<float>, 2> in_;    // one spectrum's worth of the line
    std::array<std::vector<float>, 2> sum_;   // overlapping output
    std::array<std::vector<float>, 2> done_;  // hop_ finished frames
    std::array<std::vector<float>, 2> dry_;   // the line beside done_
    std::array<std::vector<std::complex<float>>, 2> spectrum_;
    std::vector<float> time_;
};

}  // namespace bentline
