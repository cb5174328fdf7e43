// MPEG audio through libmpg123: the true length by a scan of all frame headers, and seeking that
// gives the same bits as reading from the start.
#include <algorithm>
#include <cstddef>
#include <utility>

#include <mpg123.h>

#include "engine/recording/decoder.h"
#include "engine/recording/header_check.h"

namespace bentline {

namespace {

// Decoding begins anew at every seek, so that an excerpt does not depend on what was read before,
// and this many MPEG frames before a wanted sample. The bit reservoir reaches back 511 bytes (ISO
// 11172-3, 2.4.2.7), at most 22 of the smallest frames (24 bytes); the filter bank reaches one
// frame further.
constexpr std::int64_t lead_in_frames = 24;

struct Delete {
    void operator()(mpg123_handle* handle) const { mpg123_delete(handle); }
};
using Handle = std::unique_ptr<mpg123_handle, Delete>;

// Whether the first frame holds a length header, which is then a promise.
bool has_length_header(const OpenFile& file) {
    constexpr std::size_t longest_frame =
        2881;  // ISO 11172-3 layer III at 320 kbit/s, 16 kHz halves it
    const std::string first = file.bytes(mpeg_start(file), longest_frame);
    return first.find("Xing") != std::string::npos || first.find("Info") != std::string::npos;
}

class MpegDecoder final : public Decoder {
  public:
    MpegDecoder(const OpenFile& file, Handle handle, DecoderInfo info, std::int64_t frame_samples)
        : file_(file),
          handle_(std::move(handle)),
          info_(std::move(info)),
          frame_samples_(frame_samples) {}

    const DecoderInfo& info() const override { return info_; }

    Result<Done> seek(Frames to) override {
        const std::int64_t frame = to.value() / frame_samples_ - lead_in_frames;
        const std::int64_t begin = std::max<std::int64_t>(0, frame);
        if (mpg123_seek_frame(handle_.get(), static_cast<off_t>(begin), SEEK_SET) < 0) {
            return file_.failure_at(FailureKind::damaged, to, info_.rate, "cannot be decoded");
        }
        position_ = Frames(std::max<std::int64_t>(0, mpg123_tell(handle_.get())));
        return skip(*this, file_, position_, to);
    }

    Result<Frames> read(std::span<float> out) override {
        const auto frame_bytes = sizeof(float) * static_cast<std::size_t>(info_.channels);
        std::size_t have = 0;
        while (have < out.size_bytes()) {
            std::size_t got = 0;
            auto* into = reinterpret_cast<unsigned char*>(out.data()) + have;
            const int said = mpg123_read(handle_.get(), into, out.size_bytes() - have, &got);
            have += got;
            if (said == MPG123_DONE) break;
            if (said == MPG123_NEW_FORMAT && got == 0 && same_format()) continue;
            if (said != MPG123_OK) {
                const Frames at = position_ + Frames(static_cast<std::int64_t>(have / frame_bytes));
                return file_.failure_at(FailureKind::damaged, at, info_.rate, "cannot be decoded");
            }
            if (got == 0) break;
        }
        const Frames frames(static_cast<std::int64_t>(have / frame_bytes));
        position_ += frames;
        return frames;
    }

  private:
    bool same_format() const {
        long rate = 0;
        int channels = 0;
        int encoding = 0;
        mpg123_getformat(handle_.get(), &rate, &channels, &encoding);
        return rate == info_.rate.value() && channels == info_.channels &&
               encoding == MPG123_ENC_FLOAT_32;
    }

    const OpenFile& file_;
    Handle handle_;
    DecoderInfo info_;
    std::int64_t frame_samples_;
    Frames position_;
};

const char* layer_name(int layer) {
    switch (layer) {
        case 1:
            return "MP1";
        case 2:
            return "MP2";
        default:
            return "MP3";
    }
}

}  // namespace

Result<std::unique_ptr<Decoder>> open_mpeg_decoder(const OpenFile& file) {
    const Failure no_sound =
        file.failure(FailureKind::not_audio,
                     "looks like an MP3 file but holds no sound that can be decoded; copy "
                     "or download it again");
    file.rewind();
    Handle handle(mpg123_new(nullptr, nullptr));
    if (!handle) return no_sound;
    mpg123_param(handle.get(), MPG123_ADD_FLAGS, MPG123_QUIET | MPG123_FORCE_FLOAT, 0.0);
    // Tags can be long; look past whatever lies between the frames.
    mpg123_param(handle.get(), MPG123_RESYNC_LIMIT, -1, 0.0);

    long rate = 0;
    int channels = 0;
    int encoding = 0;
    if (mpg123_open_fd(handle.get(), file.descriptor()) != MPG123_OK ||
        mpg123_getformat(handle.get(), &rate, &channels, &encoding) != MPG123_OK) {
        return no_sound;
    }
    // Only this rate, so that no later frame makes it resample or change channels on its own.
    mpg123_format_none(handle.get());
    mpg123_format(handle.get(), rate, channels, MPG123_ENC_FLOAT_32);
    mpg123_frameinfo frame{};
    mpg123_info(handle.get(), &frame);
    const int frame_samples = mpg123_spf(handle.get());
    const std::int64_t promised = mpg123_length(handle.get());
    if (mpg123_scan(handle.get()) != MPG123_OK || frame_samples <= 0) return no_sound;
    const std::int64_t there = mpg123_length(handle.get());
    if (there <= 0) return no_sound;
    if (has_length_header(file) && there + frame_samples < promised) {
        return file.failure_at(FailureKind::truncated, Frames(there),
                               SampleRate(static_cast<int>(rate)), "ends too early,");
    }
    DecoderInfo info{SampleRate(static_cast<int>(rate)), channels, Frames(there),
                     layer_name(frame.layer),
                     std::vector<Seat>(static_cast<std::size_t>(channels), Seat::unknown)};
    return std::unique_ptr<Decoder>(
        std::make_unique<MpegDecoder>(file, std::move(handle), std::move(info), frame_samples));
}

}  // namespace bentline
