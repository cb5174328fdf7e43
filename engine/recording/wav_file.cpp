// libsndfile writes the format into the descriptor of an AtomicFile.
#include "engine/recording/wav_file.h"

#include <algorithm>
#include <cerrno>
#include <utility>
#include <vector>

#include <sndfile.h>
#include <sys/stat.h>

#include "engine/recording/atomic_file.h"

namespace bentline {

struct WavWriter::Inside {
    AtomicFile file;
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
    // libsndfile keeps the system's error to itself; errno still holds it where writing failed.
    Failure failure(int error) const {
        return write_failure(file.target(), error != 0 ? error : EIO);
    }
};

WavWriter::WavWriter(std::unique_ptr<Inside> inside) : inside_(std::move(inside)) {}
WavWriter::~WavWriter() = default;
WavWriter::WavWriter(WavWriter&&) noexcept = default;
WavWriter& WavWriter::operator=(WavWriter&&) noexcept = default;

Result<WavWriter> WavWriter::create(const std::filesystem::path& target, SampleRate rate,
                                    int channels, WavSamples samples) {
    assert(channels == 1 || channels == 2);
    assert(rate.value() > 0);
    Result<AtomicFile> file = AtomicFile::create(target);
    if (!file) return file.failure();
    if (!file->regular()) {
        return Failure{FailureKind::cannot_write,
                       "cannot write " + target.string() +
                           ": a WAV file cannot go to a pipe or a device; give the name of a file",
                       Place{target.string(), {}, {}}};
    }
    auto inside = std::make_unique<Inside>(std::move(*file));
    inside->rate = rate;
    inside->channels = channels;
    inside->samples = samples;

    SF_INFO form{};
    form.samplerate = rate.value();
    form.channels = channels;
    form.format =
        SF_FORMAT_RF64 | (samples == WavSamples::pcm24 ? SF_FORMAT_PCM_24 : SF_FORMAT_FLOAT);
    errno = 0;
    inside->sound = sf_open_fd(inside->file.descriptor(), SFM_WRITE, &form, SF_FALSE);
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
    const bool whole = ::fstat(inside_->file.descriptor(), &there) == 0 &&
                       there.st_size >= inside_->written.value() * bytes_a_frame;
    if (closed != 0 || !whole) return inside_->failure(error);
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
