// A recording: a sound file that is open for reading, whole or by excerpt.
//
// WAV (also RF64), AIFF, FLAC, OGG Vorbis, Opus and MP3; 8 to 192 kHz; one or two channels as they
// are, more mixed down to two (info().note says how). An excerpt is read by seeking: a file of
// hours opens at once, and memory is bounded by the excerpt.
//
// An excerpt is the same, bit for bit, as the same span of the whole file. Two formats come only
// close: MP3, whose decoder adds in another order, to mpeg_excerpt_error, and Opus, whose decoder
// settles only after a while, to opus_excerpt_error. Asking for the same excerpt again always gives
// the same bits.
#pragma once

#include <filesystem>
#include <functional>
#include <memory>
#include <span>
#include <string>

#include "engine/recording/audio.h"
#include "engine/result.h"
#include "engine/units.h"
#include "engine/work.h"

namespace bentline {

inline constexpr SampleRate lowest_rate{8000};
inline constexpr SampleRate highest_rate{192000};
inline constexpr int most_file_channels = 64;

// Largest difference of a sample between an excerpt and the same span of the whole file.
inline constexpr float mpeg_excerpt_error = 1e-6F;  // a few roundings of a float near 1
inline constexpr float opus_excerpt_error = 1e-4F;
// A sample larger than this (+100 dB over full scale) is taken for damage, like one that is no
// number.
inline constexpr float largest_sample = 1e5F;

struct RecordingInfo {
    std::filesystem::path path;
    std::string format;  // in words: "FLAC, 16 bit"
    SampleRate rate;
    int channels = 0;       // as delivered: 1 or 2
    int file_channels = 0;  // as in the file
    Frames frames;          // > 0
    std::string note;  // what was done to it, in words: "6 channels mixed down to 2 …"; or empty

    Seconds duration() const { return to_seconds(frames, rate); }
    FramesRange whole() const { return {Frames(0), frames}; }
};

// Movable. One thread at a time may use an object; two objects may be open on one file. [worker]
class Recording {
  public:
    // Failures: not_found; unreadable (a folder, no permission, no regular file); empty (no bytes,
    // or a header without sound); not_audio; unsupported (format, rate or channel count); truncated
    // (the file ends before its header says).
    static Result<Recording> open(const std::filesystem::path& path);

    ~Recording();
    Recording(Recording&&) noexcept;
    Recording& operator=(Recording&&) noexcept;

    const RecordingInfo& info() const;

    // The frames of a range that lies within the recording: 0 <= from <= to <= frames, else
    // out_of_range. Other failures: gone (the file was deleted, replaced or changed since it was
    // opened), truncated or damaged (it cannot be decoded up to there), bad_samples (values that
    // are not numbers), stopped. Each names the first bad frame.
    Result<Audio> read(FramesRange range, const Work& work = {}) const;
    Result<Audio> read_all(const Work& work = {}) const;

    // The same as read(), handed on in blocks of at most `block` frames, so that memory stays
    // bounded: `take` gets each block in order and says whether to go on. Decoding goes straight on
    // from block to block. A `take` that says no ends it without a failure.
    Result<Done> read_blocks(FramesRange range, Frames block,
                             const std::function<bool(const Audio&)>& take,
                             const Work& work = {}) const;

  private:
    struct Inside;
    explicit Recording(std::unique_ptr<Inside> inside);
    std::unique_ptr<Inside> inside_;
};

}  // namespace bentline
