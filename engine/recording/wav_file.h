// Writing sound as WAV: whole or in blocks, never half.
//
// The file appears under its name only when it is complete (atomic_file.h). Memory is bounded by
// the block that the caller hands in. A file past 4 GiB becomes RF64 (EBU Tech 3306), the WAV of
// large files. The same samples give the same bytes.
//
// A WAV's header holds its length, so what goes to a pipe or a device is made in a nameless file
// in the system's folder for temporary files first, and sent when it is complete.
//
// Failures: cannot_write (disk full, folder gone, not allowed).
#pragma once

#include <filesystem>
#include <memory>
#include <span>

#include "engine/recording/atomic_file.h"
#include "engine/recording/audio.h"
#include "engine/result.h"
#include "engine/units.h"
#include "engine/work.h"

namespace bentline {

enum class WavSamples {
    pcm24,    // 24 bit; what lies beyond full scale is clipped to it; error at most 1 step, 2^-23
    float32,  // 32 bit float; kept as it is
};

// Writes a WAV block by block. [worker], one thread at a time
class WavWriter {
  public:
    // channels: 1 or 2.
    static Result<WavWriter> create(const std::filesystem::path& target, SampleRate rate,
                                    int channels, WavSamples samples = WavSamples::pcm24);
    // Into a file that is open and has nothing in it yet, or through a pipe or a device.
    static Result<WavWriter> create(AtomicFile file, SampleRate rate, int channels,
                                    WavSamples samples = WavSamples::pcm24);
    ~WavWriter();  // without finish(): nothing is left behind
    WavWriter(WavWriter&&) noexcept;
    WavWriter& operator=(WavWriter&&) noexcept;

    // Appends frames; one span a channel, all of one length.
    Result<Done> write(std::span<const std::span<const float>> channels);
    // Appends a block; its rate and channel count are those of the file.
    Result<Done> write(const Audio& block);
    // Completes the file and puts it under its name. The writer then only waits to be destroyed.
    Result<Done> finish();

    Frames written() const;

  private:
    struct Inside;
    explicit WavWriter(std::unique_ptr<Inside> inside);
    std::unique_ptr<Inside> inside_;
};

// Writes a whole Audio (one or two channels).
Result<Done> write_wav(const std::filesystem::path& target, const Audio& audio,
                       WavSamples samples = WavSamples::pcm24, const Work& work = {});

}  // namespace bentline
