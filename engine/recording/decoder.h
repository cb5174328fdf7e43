// What turns an open sound file into samples. libsndfile recognises every file and decodes most;
// two formats go on to the library that libsndfile itself stands on, because its own way with them
// loses sound (seen in 1.2.0, which Debian 12 has; tests/recording shows both):
// - MPEG, libmpg123: libsndfile takes a guess for the length of an MP3 without a length header and
// does
//   not read past it, so that a recording of changing bit rate loses its end;
// - Vorbis, libvorbisfile: after a seek libsndfile may be several hundred frames beside the place.
// Inside engine/recording only.
#pragma once

#include <memory>
#include <span>
#include <string>
#include <vector>

#include "engine/recording/downmix.h"
#include "engine/recording/open_file.h"
#include "engine/result.h"
#include "engine/units.h"

namespace bentline {

struct DecoderInfo {
    SampleRate rate;
    int channels = 0;
    Frames frames;
    std::string format;       // in words
    std::vector<Seat> seats;  // one a channel
};

class Decoder {
  public:
    virtual ~Decoder() = default;
    Decoder() = default;
    Decoder(const Decoder&) = delete;
    Decoder& operator=(const Decoder&) = delete;

    virtual const DecoderInfo& info() const = 0;
    // Moves to a frame; what is read next is the same as if everything before had been read, or
    // (Opus, MPEG) differs by no more than recording.h states and does not depend on what was read
    // before. Failures: damaged, truncated.
    virtual Result<Done> seek(Frames to) = 0;
    // Decodes up to out.size() / channels frames, interleaved, and says how many; 0 only at the end
    // of what can be decoded. Failures: damaged.
    virtual Result<Frames> read(std::span<float> out) = 0;
};

// Opens whichever decoder knows the file; the file must outlive it. Failures: not_audio,
// unsupported, empty, truncated, damaged.
Result<std::unique_ptr<Decoder>> open_decoder(const OpenFile& file);

// MP1, MP2 and MP3. Called by open_decoder. Failures: not_audio, truncated.
Result<std::unique_ptr<Decoder>> open_mpeg_decoder(const OpenFile& file);

// OGG Vorbis. Called by open_decoder. Failures: not_audio, empty.
Result<std::unique_ptr<Decoder>> open_vorbis_decoder(const OpenFile& file);

// Reads and throws away frames from `at` until `to`. Failures: as read; truncated where it ends
// before.
Result<Done> skip(Decoder& decoder, const OpenFile& file, Frames at, Frames to);

}  // namespace bentline
