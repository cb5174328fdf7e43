// The only file of the engine that reads through libsndfile.
#include "engine/recording/decoder.h"

#include <algorithm>
#include <cstdio>
#include <optional>
#include <utility>

#include <sndfile.h>

#include "engine/recording/header_check.h"
#include "engine/recording/recording.h"
#include "engine/recording/seats.h"

namespace bentline {

namespace {

enum class Coding { plain, flac, vorbis, opus };

struct Form {
    Coding coding;
    std::string words;
};

std::optional<std::string> plain_words(int subtype) {
    switch (subtype) {
        case SF_FORMAT_PCM_S8:
        case SF_FORMAT_PCM_U8:
            return "8 bit";
        case SF_FORMAT_PCM_16:
            return "16 bit";
        case SF_FORMAT_PCM_24:
            return "24 bit";
        case SF_FORMAT_PCM_32:
            return "32 bit";
        case SF_FORMAT_FLOAT:
            return "32 bit float";
        case SF_FORMAT_DOUBLE:
            return "64 bit float";
        case SF_FORMAT_ULAW:
            return "mu-law";
        case SF_FORMAT_ALAW:
            return "A-law";
        default:
            return std::nullopt;
    }
}

// The forms that Bentline reads; empty for the rest of what libsndfile knows.
std::optional<Form> form_of(int format) {
    const int subtype = format & SF_FORMAT_SUBMASK;
    const std::optional<std::string> plain = plain_words(subtype);
    switch (format & SF_FORMAT_TYPEMASK) {
        case SF_FORMAT_WAV:
        case SF_FORMAT_WAVEX:
            if (plain) return Form{Coding::plain, "WAV, " + *plain};
            break;
        case SF_FORMAT_RF64:
            if (plain) return Form{Coding::plain, "RF64, " + *plain};
            break;
        case SF_FORMAT_AIFF:
            if (plain) return Form{Coding::plain, "AIFF, " + *plain};
            break;
        case SF_FORMAT_FLAC:
            if (plain) return Form{Coding::flac, "FLAC, " + *plain};
            break;
        case SF_FORMAT_OGG:
            if (subtype == SF_FORMAT_VORBIS) return Form{Coding::vorbis, "OGG Vorbis"};
            if (subtype == SF_FORMAT_OPUS) return Form{Coding::opus, "Opus"};
            break;
        default:
            break;
    }
    return std::nullopt;
}

std::string format_name(int format) {
    SF_FORMAT_INFO info{};
    info.format = format & SF_FORMAT_TYPEMASK;
    std::string name = "unknown";
    if (sf_command(nullptr, SFC_GET_FORMAT_INFO, &info, sizeof info) == 0 && info.name != nullptr) {
        name = info.name;
    }
    info.format = format & SF_FORMAT_SUBMASK;
    if (sf_command(nullptr, SFC_GET_FORMAT_INFO, &info, sizeof info) == 0 && info.name != nullptr) {
        name += std::string(", ") + info.name;
    }
    return name;
}

Seat seat_of(int place) {
    switch (place) {
        case SF_CHANNEL_MAP_LEFT:
        case SF_CHANNEL_MAP_FRONT_LEFT:
            return Seat::left;
        case SF_CHANNEL_MAP_RIGHT:
        case SF_CHANNEL_MAP_FRONT_RIGHT:
            return Seat::right;
        case SF_CHANNEL_MAP_MONO:
        case SF_CHANNEL_MAP_CENTER:
        case SF_CHANNEL_MAP_FRONT_CENTER:
            return Seat::centre;
        case SF_CHANNEL_MAP_LFE:
            return Seat::low;
        case SF_CHANNEL_MAP_REAR_LEFT:
        case SF_CHANNEL_MAP_SIDE_LEFT:
            return Seat::left_surround;
        case SF_CHANNEL_MAP_REAR_RIGHT:
        case SF_CHANNEL_MAP_SIDE_RIGHT:
            return Seat::right_surround;
        case SF_CHANNEL_MAP_REAR_CENTER:
            return Seat::centre_surround;
        default:
            return Seat::unknown;
    }
}

// Opus says in its first packet which order its channels have (RFC 7845 section 5.1): byte 18 of
// the packet is the mapping family, of which 1 has the order of Vorbis.
std::vector<Seat> opus_seats(const OpenFile& file, std::size_t channels) {
    constexpr std::size_t first_page = 512;
    const std::string head = file.bytes(0, first_page);
    const std::size_t packet = head.find("OpusHead");
    if (packet == std::string::npos || packet + 18 >= head.size() || head[packet + 18] != 1) {
        return std::vector<Seat>(channels, Seat::unknown);
    }
    return vorbis_seats(channels);
}

std::vector<Seat> seats_of(const OpenFile& file, SNDFILE* sound, int channels, Coding coding) {
    std::vector<int> map(static_cast<std::size_t>(channels), SF_CHANNEL_MAP_INVALID);
    const int bytes = static_cast<int>(map.size() * sizeof(int));
    if (sf_command(sound, SFC_GET_CHANNEL_MAP_INFO, map.data(), bytes) == SF_TRUE) {
        std::vector<Seat> seats;
        seats.reserve(map.size());
        for (const int place : map)
            seats.push_back(seat_of(place));
        return seats;
    }
    if (coding == Coding::flac) return flac_seats(map.size());
    if (coding == Coding::opus) return opus_seats(file, map.size());
    return std::vector<Seat>(map.size(), Seat::unknown);
}

// How far before a wanted frame decoding has to begin for the wanted frame to come out exact.
std::int64_t lead_in(Coding coding, SampleRate rate) {
    switch (coding) {
        case Coding::plain:
        case Coding::flac:
        case Coding::vorbis:  // read elsewhere
            return 0;
        // RFC 7845 section 4.6 asks for 80 ms; at low bit rates the filters' memory was seen to
        // reach back more than one second, never two.
        case Coding::opus:
            return std::int64_t{4} * rate.value();
    }
    return 0;
}

struct Close {
    void operator()(SNDFILE* sound) const { sf_close(sound); }
};
using Handle = std::unique_ptr<SNDFILE, Close>;

constexpr Frames nowhere{-1};  // after an error: the next seek really seeks

class SndfileDecoder final : public Decoder {
  public:
    SndfileDecoder(const OpenFile& file, Handle sound, Coding coding, DecoderInfo info)
        : file_(file), sound_(std::move(sound)), coding_(coding), info_(std::move(info)) {}

    const DecoderInfo& info() const override { return info_; }

    Result<Done> seek(Frames to) override {
        // Opus always begins anew, so that an excerpt does not depend on what was read before.
        if (position_ == to && coding_ != Coding::opus) return Done{};
        const std::int64_t begin =
            std::max<std::int64_t>(0, to.value() - lead_in(coding_, info_.rate));
        if (sf_seek(sound_.get(), begin, SEEK_SET) != begin) {
            position_ = nowhere;
            return file_.failure_at(FailureKind::damaged, to, info_.rate, "cannot be decoded");
        }
        position_ = Frames(begin);
        return skip(*this, file_, position_, to);
    }

    Result<Frames> read(std::span<float> out) override {
        const auto wanted = static_cast<sf_count_t>(out.size()) / info_.channels;
        const Frames got(std::max<sf_count_t>(0, sf_readf_float(sound_.get(), out.data(), wanted)));
        position_ += got;
        if (sf_error(sound_.get()) != SF_ERR_NO_ERROR) {
            const Frames position = std::exchange(position_, nowhere);
            return file_.failure_at(FailureKind::damaged, position, info_.rate,
                                    "cannot be decoded");
        }
        return got;
    }

    // Decodes everything to learn the length, where the file does not tell it.
    Result<Done> count_frames() {
        std::vector<float> block(static_cast<std::size_t>(8192 * info_.channels));
        Frames count;
        while (true) {
            const Result<Frames> got = read(block);
            if (!got) return got.failure();
            if (got->value() == 0) break;
            count += *got;
        }
        info_.frames = count;
        position_ = nowhere;
        return seek(Frames(0));
    }

  private:
    const OpenFile& file_;
    Handle sound_;
    Coding coding_;
    DecoderInfo info_;
    Frames position_;
};

// libsndfile shortens a cut WAV or AIFF without a word, believes the header of a cut FLAC, and
// gives a cut OGG the largest number that there is.
Result<Done> check_whole(const OpenFile& file, Coding coding, Decoder& decoder) {
    const DecoderInfo& info = decoder.info();
    if (coding == Coding::plain) {
        const std::optional<SoundBytes> bytes = sound_bytes(file);
        if (bytes && bytes->there < bytes->promised) {
            return file.failure_at(FailureKind::truncated, info.frames, info.rate,
                                   "ends too early,");
        }
        return Done{};
    }
    const Frames last = info.frames - Frames(1);
    std::vector<float> frame(static_cast<std::size_t>(info.channels));
    const Result<Done> sought = decoder.seek(last);
    const Result<Frames> got = sought ? decoder.read(frame) : Result<Frames>(sought.failure());
    if (!got || got->value() == 0) {
        return file.failure(FailureKind::truncated,
                            "ends before the " + std::to_string(info.frames.value()) +
                                " frames that its header promises; copy or download it again, or "
                                "convert the part that is there");
    }
    return decoder.seek(Frames(0));
}

}  // namespace

Result<Done> skip(Decoder& decoder, const OpenFile& file, Frames at, Frames to) {
    const DecoderInfo& info = decoder.info();
    std::vector<float> skipped;
    while (at < to) {
        constexpr std::int64_t at_once = 8192;
        const std::int64_t count = std::min(at_once, (to - at).value());
        skipped.resize(static_cast<std::size_t>(count * info.channels));
        Result<Frames> got = decoder.read(skipped);
        if (!got) return got.failure();
        if (got->value() == 0) {
            return file.failure_at(FailureKind::truncated, at, info.rate, "ends too early,");
        }
        at += *got;
    }
    return Done{};
}

namespace {

// Why no decoder opens a file.
Failure no_decoder(const OpenFile& file) {
    const std::string name = format_by_first_bytes(file);
    if (name.empty()) {
        return file.failure(FailureKind::not_audio,
                            "is not a sound file that can be read; Bentline reads WAV, AIFF, FLAC, "
                            "OGG Vorbis, Opus and MP3");
    }
    return file.failure(FailureKind::damaged,
                        "begins like a " + name +
                            " file but cannot be decoded; copy or download it "
                            "again, or convert it to WAV or FLAC");
}

}  // namespace

Result<std::unique_ptr<Decoder>> open_decoder(const OpenFile& file) {
    // Before libsndfile, which lets libmpg123 write its complaints to standard error.
    if (looks_like_mpeg(file)) return open_mpeg_decoder(file);
    if (format_by_first_bytes(file) == "OGG" && ogg_breaks_off(file)) {
        return file.failure(FailureKind::truncated,
                            "ends too early, in the middle of the sound; copy or download it "
                            "again, or convert the part that is there");
    }
    SF_INFO form{};
    file.rewind();
    Handle sound(sf_open_fd(file.descriptor(), SFM_READ, &form, SF_FALSE));
    if (!sound) return no_decoder(file);
    if ((form.format & SF_FORMAT_TYPEMASK) == SF_FORMAT_MPEG) {
        sound.reset();
        return open_mpeg_decoder(file);
    }
    const std::optional<Form> known = form_of(form.format);
    if (!known) {
        return file.failure(FailureKind::unsupported, "is in a format that is not handled (" +
                                                          format_name(form.format) +
                                                          "); convert it to WAV or FLAC");
    }
    if (form.channels < 1 || form.channels > most_file_channels) {
        return file.failure(FailureKind::unsupported, "has " + std::to_string(form.channels) +
                                                          " channels; convert it to 1 or 2");
    }
    if (form.frames <= 0) {
        return file.failure(FailureKind::empty,
                            "holds no sound, only a header; record or download it again");
    }
    DecoderInfo info{SampleRate(form.samplerate), form.channels, Frames(form.frames), known->words,
                     seats_of(file, sound.get(), form.channels, known->coding)};
    if (known->coding == Coding::vorbis) {
        sound.reset();
        return open_vorbis_decoder(file);
    }
    auto decoder =
        std::make_unique<SndfileDecoder>(file, std::move(sound), known->coding, std::move(info));
    if (decoder->info().frames.value() == SF_COUNT_MAX) {
        const Result<Done> counted = decoder->count_frames();
        if (!counted) return counted.failure();
        if (decoder->info().frames == Frames(0)) {
            return file.failure(FailureKind::empty,
                                "holds no sound, only a header; record or download it again");
        }
    }
    const Result<Done> whole = check_whole(file, known->coding, *decoder);
    if (!whole) return whole.failure();
    return std::unique_ptr<Decoder>(std::move(decoder));
}

}  // namespace bentline
