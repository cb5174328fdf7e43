// libsndfile writes the format into the descriptor of an AtomicFile.
#include "engine/recording/wav_file.h"

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstddef>
#include <cstdlib>
#include <string>
#include <utility>
#include <vector>

#include <fcntl.h>
#include <sndfile.h>
#include <sys/stat.h>
#include <unistd.h>

namespace bentline {

namespace {

// A file without a name in the system's folder for temporary files; it goes when it is closed.
class Spool {
  public:
    static Result<Spool> open() {
        std::error_code none;
        std::filesystem::path folder = std::filesystem::temp_directory_path(none);
        if (folder.empty()) folder = ".";
        std::string name = (folder / "bentline-XXXXXX").string();
        const int descriptor = ::mkostemp(name.data(), O_CLOEXEC);
        if (descriptor < 0) return write_failure(folder, errno);
        ::unlink(name.c_str());
        return Spool(descriptor, folder);
    }
    ~Spool() {
        if (descriptor_ >= 0) ::close(descriptor_);
    }
    Spool(Spool&& other) noexcept
        : descriptor_(std::exchange(other.descriptor_, -1)), folder_(std::move(other.folder_)) {}
    Spool(const Spool&) = delete;
    Spool& operator=(const Spool&) = delete;

    int descriptor() const { return descriptor_; }
    // What a sentence names where it cannot be written.
    const std::filesystem::path& folder() const { return folder_; }

    // Everything in it, from its beginning.
    Result<Done> send(AtomicFile& to) const {
        std::array<std::byte, 65536> block{};
        for (off_t at = 0;;) {
            const ssize_t got = ::pread(descriptor_, block.data(), block.size(), at);
            if (got < 0 && errno == EINTR) continue;
            if (got < 0) return write_failure(folder_, errno);
            if (got == 0) return Done{};
            if (auto ok = to.write(std::span(block.data(), static_cast<std::size_t>(got))); !ok)
                return ok;
            at += got;
        }
    }

  private:
    Spool(int descriptor, std::filesystem::path folder)
        : descriptor_(descriptor), folder_(std::move(folder)) {}

    int descriptor_;
    std::filesystem::path folder_;
};

}  // namespace

struct WavWriter::Inside {
    AtomicFile file;
    std::optional<Spool> spool;  // where the file is a pipe or a device
    SNDFILE* sound = nullptr;
    SampleRate rate;
    int channels = 0;
    WavSamples samples = WavSamples::pcm24;
    Frames written;
    std::vector<float> interleaved;

    explicit Inside(AtomicFile f) : file(std::move(f)) {}
    ~Inside() { close(); }
    Inside(const Inside&) = delete;
    Inside& operator=(const Inside&) = delete;

    void close() {
        if (sound != nullptr) sf_close(sound);
        sound = nullptr;
    }
    // What libsndfile writes into.
    int descriptor() const { return spool ? spool->descriptor() : file.descriptor(); }
    // libsndfile keeps the system's error to itself; errno still holds it where writing failed.
    Failure failure(int error) const {
        return write_failure(spool ? spool->folder() : file.target(), error != 0 ? error : EIO);
    }
};

WavWriter::WavWriter(std::unique_ptr<Inside> inside) : inside_(std::move(inside)) {}
WavWriter::~WavWriter() = default;
WavWriter::WavWriter(WavWriter&&) noexcept = default;
WavWriter& WavWriter::operator=(WavWriter&&) noexcept = default;

Result<WavWriter> WavWriter::create(const std::filesystem::path& target, SampleRate rate,
                                    int channels, WavSamples samples) {
    Result<AtomicFile> file = AtomicFile::create(target);
    if (!file) return file.failure();
    return create(std::move(*file), rate, channels, samples);
}

Result<WavWriter> WavWriter::create(AtomicFile file, SampleRate rate, int channels,
                                    WavSamples samples) {
    assert(channels == 1 || channels == 2);
    assert(rate.value() > 0);
    auto inside = std::make_unique<Inside>(std::move(file));
    if (!inside->file.regular()) {
        auto spool = Spool::open();
        if (!spool) return spool.failure();
        inside->spool.emplace(std::move(*spool));
    }
    inside->rate = rate;
    inside->channels = channels;
    inside->samples = samples;

    SF_INFO form{};
    form.samplerate = rate.value();
    form.channels = channels;
    form.format =
        SF_FORMAT_RF64 | (samples == WavSamples::pcm24 ? SF_FORMAT_PCM_24 : SF_FORMAT_FLOAT);
    errno = 0;
    inside->sound = sf_open_fd(inside->descriptor(), SFM_WRITE, &form, SF_FALSE);
    if (inside->sound == nullptr) return inside->failure(errno);
    // Plain WAV as long as it fits. RF64 has no peak chunk (which would hold the time of writing)
    // until SFC_SET_ADD_PEAK_CHUNK is called: libsndfile 1.2 then adds one, even with SF_FALSE.
    sf_command(inside->sound, SFC_RF64_AUTO_DOWNGRADE, nullptr, SF_TRUE);
    sf_command(inside->sound, SFC_SET_CLIPPING, nullptr, SF_TRUE);
    return WavWriter(std::move(inside));
}

Result<Done> WavWriter::write(std::span<const std::span<const float>> channels) {
    assert(inside_->sound != nullptr);
    assert(channels.size() == static_cast<std::size_t>(inside_->channels));
    const std::size_t frames = channels[0].size();
    const std::size_t count = channels.size();
    inside_->interleaved.resize(frames * count);
    for (std::size_t c = 0; c < count; ++c) {
        assert(channels[c].size() == frames);
        for (std::size_t i = 0; i < frames; ++i)
            inside_->interleaved[i * count + c] = channels[c][i];
    }
    errno = 0;
    const sf_count_t done = sf_writef_float(inside_->sound, inside_->interleaved.data(),
                                            static_cast<sf_count_t>(frames));
    if (done != static_cast<sf_count_t>(frames)) return inside_->failure(errno);
    inside_->written += Frames(done);
    return Done{};
}

Result<Done> WavWriter::write(const Audio& block) {
    assert(block.rate == inside_->rate);
    const std::vector<std::span<const float>> spans(block.channels.begin(), block.channels.end());
    return write(spans);
}

Result<Done> WavWriter::finish() {
    assert(inside_->sound != nullptr);
    errno = 0;
    const int closed = sf_close(std::exchange(inside_->sound, nullptr));
    const int error = errno;
    // The header is rewritten on closing; the size tells whether everything arrived.
    const std::int64_t bytes_a_sample = inside_->samples == WavSamples::pcm24 ? 3 : 4;
    const std::int64_t bytes_a_frame = bytes_a_sample * inside_->channels;
    struct stat there {};
    const bool whole = ::fstat(inside_->descriptor(), &there) == 0 &&
                       there.st_size >= inside_->written.value() * bytes_a_frame;
    if (closed != 0 || !whole) return inside_->failure(error);
    if (inside_->spool) {
        if (auto sent = inside_->spool->send(inside_->file); !sent) return sent;
    }
    return inside_->file.commit();
}

Frames WavWriter::written() const {
    return inside_->written;
}

Result<Done> write_wav(const std::filesystem::path& target, const Audio& audio, WavSamples samples,
                       const Work& work) {
    Result<WavWriter> writer =
        WavWriter::create(target, audio.rate, static_cast<int>(audio.channels.size()), samples);
    if (!writer) return writer.failure();
    constexpr std::size_t block = 65536;
    const auto total = static_cast<std::size_t>(audio.length().value());
    std::vector<std::span<const float>> spans(audio.channels.size());
    for (std::size_t at = 0; at < total; at += block) {
        if (!work.report(static_cast<double>(at) / static_cast<double>(total))) {
            return stopped_failure();
        }
        const std::size_t size = std::min(block, total - at);
        for (std::size_t c = 0; c < spans.size(); ++c) {
            spans[c] = audio.channel(c).subspan(at, size);
        }
        Result<Done> written = writer->write(spans);
        if (!written) return written;
    }
    if (!work.report(1.0)) return stopped_failure();
    return writer->finish();
}

}  // namespace bentline
