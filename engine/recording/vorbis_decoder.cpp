// OGG Vorbis through libvorbisfile: seeking that lands on the very sample.
#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <utility>

#include <unistd.h>
#include <vorbis/vorbisfile.h>

#include "engine/recording/decoder.h"
#include "engine/recording/seats.h"

namespace bentline {

namespace {

// Decoding begins two of the longest blocks before a wanted sample (Vorbis I, section 4.2.2), so
// that every overlap that reaches it is complete.
constexpr std::int64_t lead_in = 16384;

std::size_t read_bytes(void* into, std::size_t size, std::size_t count, void* source) {
    const int fd = static_cast<const OpenFile*>(source)->descriptor();
    ssize_t got = -1;
    do {
        got = ::read(fd, into, size * count);
    } while (got < 0 && errno == EINTR);
    return got < 0 ? 0 : static_cast<std::size_t>(got) / size;
}
int seek_bytes(void* source, ogg_int64_t offset, int whence) {
    const int fd = static_cast<const OpenFile*>(source)->descriptor();
    return ::lseek(fd, static_cast<off_t>(offset), whence) < 0 ? -1 : 0;
}
long tell_bytes(void* source) {
    return ::lseek(static_cast<const OpenFile*>(source)->descriptor(), 0, SEEK_CUR);
}

struct Clear {
    void operator()(OggVorbis_File* vorbis) const {
        ov_clear(vorbis);
        delete vorbis;
    }
};
using Handle = std::unique_ptr<OggVorbis_File, Clear>;

class VorbisDecoder final : public Decoder {
  public:
    VorbisDecoder(const OpenFile& file, Handle vorbis, DecoderInfo info)
        : file_(file), vorbis_(std::move(vorbis)), info_(std::move(info)) {}

    const DecoderInfo& info() const override { return info_; }

    Result<Done> seek(Frames to) override {
        const std::int64_t begin = std::max<std::int64_t>(0, to.value() - lead_in);
        if (ov_pcm_seek(vorbis_.get(), begin) != 0 || ov_pcm_tell(vorbis_.get()) != begin) {
            return file_.failure_at(FailureKind::damaged, to, info_.rate, "cannot be decoded");
        }
        position_ = Frames(begin);
        return skip(*this, file_, position_, to);
    }

    Result<Frames> read(std::span<float> out) override {
        const auto channels = static_cast<std::size_t>(info_.channels);
        const std::size_t wanted = out.size() / channels;
        std::size_t have = 0;
        while (have < wanted) {
            float** planes = nullptr;
            int stream = 0;
            constexpr std::size_t most_at_once = 4096;
            const long got =
                ov_read_float(vorbis_.get(), &planes,
                              static_cast<int>(std::min(wanted - have, most_at_once)), &stream);
            if (got == 0) break;
            const vorbis_info* here = got > 0 ? ov_info(vorbis_.get(), stream) : nullptr;
            if (here == nullptr || here->channels != info_.channels ||
                here->rate != info_.rate.value()) {
                const Frames at = position_ + Frames(static_cast<std::int64_t>(have));
                return file_.failure_at(FailureKind::damaged, at, info_.rate, "cannot be decoded");
            }
            for (std::size_t i = 0; i < static_cast<std::size_t>(got); ++i) {
                for (std::size_t c = 0; c < channels; ++c) {
                    out[(have + i) * channels + c] = planes[c][i];
                }
            }
            have += static_cast<std::size_t>(got);
        }
        position_ += Frames(static_cast<std::int64_t>(have));
        return Frames(static_cast<std::int64_t>(have));
    }

  private:
    const OpenFile& file_;
    Handle vorbis_;
    DecoderInfo info_;
    Frames position_;
};

}  // namespace

Result<std::unique_ptr<Decoder>> open_vorbis_decoder(const OpenFile& file) {
    file.rewind();
    const ov_callbacks callbacks{read_bytes, seek_bytes, nullptr, tell_bytes};
    auto raw = std::make_unique<OggVorbis_File>();
    // libvorbisfile keeps the pointer but does not write through it.
    void* source = const_cast<OpenFile*>(&file);  // NOLINT(cppcoreguidelines-pro-type-const-cast)
    if (ov_open_callbacks(source, raw.get(), nullptr, 0, callbacks) != 0) {
        return file.failure(
            FailureKind::not_audio,
            "looks like OGG Vorbis but cannot be decoded; copy or download it again");
    }
    Handle vorbis(raw.release());
    const vorbis_info* form = ov_info(vorbis.get(), 0);
    const ogg_int64_t frames = ov_pcm_total(vorbis.get(), -1);
    if (form == nullptr || form->channels < 1 || frames <= 0) {
        return file.failure(FailureKind::empty,
                            "holds no sound, only a header; record or download it again");
    }
    DecoderInfo info{SampleRate(static_cast<int>(form->rate)), form->channels, Frames(frames),
                     "OGG Vorbis", vorbis_seats(static_cast<std::size_t>(form->channels))};
    return std::unique_ptr<Decoder>(
        std::make_unique<VorbisDecoder>(file, std::move(vorbis), std::move(info)));
}

}  // namespace bentline
