// The only file of Bentline that reads through libsndfile.
#include "engine/recording/sound_file.h"

#include <algorithm>
#include <array>
#include <cerrno>
#include <cmath>
#include <cstdio>
#include <optional>
#include <system_error>
#include <utility>

#include <fcntl.h>
#include <sndfile.h>
#include <sys/stat.h>
#include <unistd.h>

#include "engine/recording/recording.h"

namespace bentline {

namespace fs = std::filesystem;

namespace {

Failure failure(FailureKind kind, const fs::path& path, const std::string& what) {
    return Failure{kind, path.string() + " " + what, Place{path.string(), {}, {}}};
}

FileIdentity identity_of(const struct stat& s) {
    return {static_cast<std::uint64_t>(s.st_dev), static_cast<std::uint64_t>(s.st_ino),
            static_cast<std::int64_t>(s.st_size), static_cast<std::int64_t>(s.st_mtim.tv_sec),
            static_cast<std::int64_t>(s.st_mtim.tv_nsec)};
}

Failure open_failure(const fs::path& path, int error) {
    switch (error) {
        case ENOENT:
        case ENOTDIR:
            return failure(FailureKind::not_found, path,
                           "is not there; check the name and the folder");
        case EACCES:
        case EPERM:
            return failure(FailureKind::unreadable, path,
                           "may not be read; change its permissions or copy it to your own folder");
        default:
            return failure(FailureKind::unreadable, path,
                           "cannot be opened (" + std::generic_category().message(error) +
                               "); check the disk it is on");
    }
}

// A frame's time as a player reads it: "1:02.345".
std::string clock_time(Frames frame, SampleRate rate) {
    const std::int64_t ms = std::llround(to_seconds(frame, rate).value() * 1000.0);
    std::array<char, 40> text{};
    std::snprintf(text.data(), text.size(), "%lld:%02lld.%03lld",
                  static_cast<long long>(ms / 60000), static_cast<long long>(ms / 1000 % 60),
                  static_cast<long long>(ms % 1000));
    return text.data();
}

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
        case SF_FORMAT_MPEG:
            if (subtype == SF_FORMAT_MPEG_LAYER_III) return Form{Coding::mpeg, "MP3"};
            if (subtype == SF_FORMAT_MPEG_LAYER_II) return Form{Coding::mpeg, "MP2"};
            if (subtype == SF_FORMAT_MPEG_LAYER_I) return Form{Coding::mpeg, "MP1"};
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

// FLAC files carry no map; RFC 9639 table 15 fixes the order for up to eight channels.
std::vector<Seat> flac_seats(std::size_t channels) {
    using enum Seat;
    switch (channels) {
        case 3:
            return {left, right, centre};
        case 4:
            return {left, right, left_surround, right_surround};
        case 5:
            return {left, right, centre, left_surround, right_surround};
        case 6:
            return {left, right, centre, low, left_surround, right_surround};
        case 7:
            return {left, right, centre, low, centre_surround, left_surround, right_surround};
        case 8:
            return {left,          right,          centre,        low,
                    left_surround, right_surround, left_surround, right_surround};
        default:
            return std::vector<Seat>(channels, unknown);
    }
}

std::vector<Seat> seats_of(SNDFILE* sound, int channels, Coding coding) {
    std::vector<int> map(static_cast<std::size_t>(channels), SF_CHANNEL_MAP_INVALID);
    const int bytes = static_cast<int>(map.size() * sizeof(int));
    if (sf_command(sound, SFC_GET_CHANNEL_MAP_INFO, map.data(), bytes) == SF_TRUE) {
        std::vector<Seat> seats;
        for (const int place : map)
            seats.push_back(seat_of(place));
        return seats;
    }
    if (coding == Coding::flac) return flac_seats(map.size());
    return std::vector<Seat>(map.size(), Seat::unknown);
}

// How far before a wanted frame decoding has to begin for the wanted frame to come out exact.
std::int64_t lead_in(Coding coding, SampleRate rate) {
    switch (coding) {
        case Coding::plain:
        case Coding::flac:
            return 0;
        // Two of the longest blocks of 8192 (Vorbis I specification, section 4.2.2).
        case Coding::vorbis:
            return 16384;
        // RFC 7845 section 4.6 asks for 80 ms; the filters' memory is flushed to below
        // opus_excerpt_error after a second.
        case Coding::opus:
            return rate.value();
        // The bit reservoir reaches back 511 bytes, at 32 kbit/s five frames of 1152; the filter
        // bank one more. Doubled, and more for lower rates.
        case Coding::mpeg:
            return 24 * 1152;
    }
    return 0;
}

}  // namespace

SoundFile::~SoundFile() {
    close();
}

SoundFile::SoundFile(SoundFile&& other) noexcept {
    *this = std::move(other);
}

SoundFile& SoundFile::operator=(SoundFile&& other) noexcept {
    if (this == &other) return *this;
    close();
    path_ = std::move(other.path_);
    identity_ = other.identity_;
    descriptor_ = std::exchange(other.descriptor_, -1);
    sound_ = std::exchange(other.sound_, nullptr);
    rate_ = other.rate_;
    channels_ = other.channels_;
    frames_ = other.frames_;
    position_ = other.position_;
    coding_ = other.coding_;
    format_ = std::move(other.format_);
    seats_ = std::move(other.seats_);
    return *this;
}

void SoundFile::close() noexcept {
    if (sound_ != nullptr) sf_close(sound_);
    if (descriptor_ >= 0) ::close(descriptor_);
    sound_ = nullptr;
    descriptor_ = -1;
}

Result<SoundFile> SoundFile::open(const fs::path& path) {
    SoundFile file;
    file.path_ = path;
    // Not blocking, so that a pipe that nobody writes to does not hang.
    file.descriptor_ = ::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    if (file.descriptor_ < 0) return open_failure(path, errno);
    struct stat there {};
    if (::fstat(file.descriptor_, &there) != 0) return open_failure(path, errno);
    if (S_ISDIR(there.st_mode)) {
        return failure(FailureKind::unreadable, path, "is a folder; name a sound file in it");
    }
    if (!S_ISREG(there.st_mode)) {
        return failure(FailureKind::unreadable, path,
                       "is not a regular file; save the sound to a file and open that");
    }
    if (there.st_size == 0) {
        return failure(FailureKind::empty, path, "is empty (0 bytes); copy or download it again");
    }
    file.identity_ = identity_of(there);

    SF_INFO info{};
    file.sound_ = sf_open_fd(file.descriptor_, SFM_READ, &info, SF_FALSE);
    if (file.sound_ == nullptr) {
        return failure(FailureKind::not_audio, path,
                       "is not a sound file that can be read; Bentline reads WAV, AIFF, FLAC, "
                       "OGG Vorbis, Opus and MP3");
    }
    const std::optional<Form> form = form_of(info.format);
    if (!form) {
        return failure(FailureKind::unsupported, path,
                       "is in a format that is not handled (" + format_name(info.format) +
                           "); convert it to WAV or FLAC");
    }
    if (info.samplerate < lowest_rate.value() || info.samplerate > highest_rate.value()) {
        return failure(FailureKind::unsupported, path,
                       "has a sample rate of " + std::to_string(info.samplerate) +
                           " Hz; convert it to between 8 and 192 kHz");
    }
    if (info.channels < 1 || info.channels > most_file_channels) {
        return failure(FailureKind::unsupported, path,
                       "has " + std::to_string(info.channels) + " channels; convert it to 1 or 2");
    }
    if (info.frames <= 0) {
        return failure(FailureKind::empty, path,
                       "holds no sound, only a header; record or download it again");
    }
    file.rate_ = SampleRate(info.samplerate);
    file.channels_ = info.channels;
    file.frames_ = Frames(info.frames);
    file.coding_ = form->coding;
    file.format_ = form->words;
    file.seats_ = seats_of(file.sound_, info.channels, form->coding);
    return file;
}

Result<Done> SoundFile::still_there() const {
    struct stat now {};
    if (::stat(path_.c_str(), &now) != 0) {
        return failure(
            FailureKind::gone, path_,
            "was there when it was opened and is no longer; put it back and open it again");
    }
    if (!(identity_of(now) == identity_)) {
        return failure(FailureKind::gone, path_,
                       "was changed or replaced while it was open; open it again");
    }
    return Done{};
}

Result<Done> SoundFile::seek(Frames to) {
    if (position_ == to) return Done{};
    const std::int64_t start = std::max<std::int64_t>(0, to.value() - lead_in(coding_, rate_));
    if (sf_seek(sound_, start, SEEK_SET) != start) {
        return failure_at(FailureKind::damaged, to, "cannot be decoded");
    }
    position_ = Frames(start);
    std::vector<float> skipped;
    while (position_ < to) {
        constexpr std::int64_t at_once = 8192;
        const std::int64_t count = std::min(at_once, (to - position_).value());
        skipped.resize(static_cast<std::size_t>(count * channels_));
        Result<Frames> got = read(skipped);
        if (!got) return got.failure();
        if (got->value() == 0)
            return failure_at(FailureKind::truncated, position_, "ends too early");
    }
    return Done{};
}

Result<Frames> SoundFile::read(std::span<float> out) {
    const sf_count_t wanted = static_cast<sf_count_t>(out.size()) / channels_;
    const sf_count_t got = sf_readf_float(sound_, out.data(), wanted);
    position_ += Frames(std::max<sf_count_t>(got, 0));
    if (sf_error(sound_) != SF_ERR_NO_ERROR) {
        return failure_at(FailureKind::damaged, position_, "cannot be decoded");
    }
    return Frames(got);
}

Failure SoundFile::failure_at(FailureKind kind, Frames frame, const std::string& what) const {
    const char* advice = kind == FailureKind::truncated
                             ? "; copy or download it again, or save the part that is there anew"
                             : "; copy it again or convert it anew";
    return Failure{kind,
                   path_.string() + " " + what + " at " + clock_time(frame, rate_) + " (frame " +
                       std::to_string(frame.value()) + ")" + advice,
                   Place{path_.string(), frame, {}}};
}

}  // namespace bentline
