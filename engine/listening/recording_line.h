// A recording in memory as a line for the stretcher: straight on, or round a loop for ever.
#pragma once

#include <memory>
#include <optional>

#include "engine/listening/frame_source.h"
#include "engine/recording/audio.h"

namespace bentline {

// Line places and recording places are the same until a loop folds the line. At the loop's end the
// sound is cross-faded in 5 ms (a quarter of the loop if that is less) with what leads up to its
// beginning, at constant power for how alike the two are, so that the seam neither clicks nor dips;
// from the seam on the recording is exact. [audio], but for the constructor.
class RecordingLine final : public FrameSource {
  public:
    explicit RecordingLine(std::shared_ptr<const Audio> audio);

    // From line place `line` on, the recording runs from `place`, round `loop` if there is one (the
    // place may lie before the loop, and runs into it).
    void lead(std::int64_t line, std::int64_t place, std::optional<FramesRange> loop);
    // Reads from `audio` from now on, which holds the same at the places there were; hands the old
    // one back in its place.
    void exchange(std::shared_ptr<const Audio>& audio) { audio_.swap(audio); }
    void read(Frames from, std::size_t count, std::span<float* const> out) override;

    // The recording place at a line place, folded into the loop.
    double place(double line) const;
    // How often the loop's end has been passed at a line place.
    std::int64_t round(double line) const;
    const std::optional<FramesRange>& loop() const { return loop_; }
    FramesRange whole() const { return {audio_->start, audio_->start + audio_->length()}; }
    const Audio& audio() const { return *audio_; }

  private:
    float sample(std::size_t c, std::int64_t place) const;

    std::shared_ptr<const Audio> audio_;
    std::int64_t line_from_;
    std::int64_t place_from_;
    std::optional<FramesRange> loop_;
    std::int64_t fade_ = 0;  // frames of cross-fade before the loop's end
    double alike_ = 0.0;     // correlation of the two sides of the cross-fade, 0 to 1
};

}  // namespace bentline
