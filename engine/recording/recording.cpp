// Reads excerpts: decode in blocks, check every sample, mix down, hand on.
#include "engine/recording/recording.h"

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

#include "engine/recording/decoder.h"
#include "engine/recording/downmix.h"
#include "engine/recording/open_file.h"

namespace bentline {

namespace {

constexpr std::int64_t decode_frames =
    16384;  // decoded at once; below 0.1 s of work for any format

// The first sample that is no number or far beyond any sound, or size() where all are good.
std::size_t first_bad(std::span<const float> samples) {
    // NaN fails the comparison, too.
    const auto bad = [](float x) { return !(std::fabs(x) <= largest_sample); };
    return static_cast<std::size_t>(std::find_if(samples.begin(), samples.end(), bad) -
                                    samples.begin());
}

}  // namespace

struct Recording::Inside {
    OpenFile file;
    std::unique_ptr<Decoder> decoder;  // reads from `file`, so it goes first
    RecordingInfo info;
    Downmix downmix;
    std::vector<float> interleaved;

    explicit Inside(OpenFile f) : file(std::move(f)) {}

    // An error can leave a decoder unfit for more; the next excerpt then begins with a new one.
    Result<Done> seek(Frames to) {
        if (!decoder) {
            Result<std::unique_ptr<Decoder>> fresh = open_decoder(file);
            if (!fresh) return fresh.failure();
            decoder = std::move(*fresh);
        }
        return decoder->seek(to);
    }

    // Decodes the next out.length() frames, which begin at frame `at`, into the outputs.
    Result<Done> decode(Frames at, Audio& out) {
        const auto channels = static_cast<std::size_t>(info.file_channels);
        const std::int64_t length = out.length().value();
        std::vector<float*> outputs(out.channels.size());
        for (std::int64_t done = 0; done < length;) {
            const std::int64_t want = std::min(decode_frames, length - done);
            interleaved.resize(static_cast<std::size_t>(want) * channels);
            Result<Frames> got = decoder->read(interleaved);
            if (!got) return got.failure();
            const Frames here = at + Frames(done);
            if (got->value() == 0) {
                return file.failure_at(FailureKind::truncated, here, info.rate, "ends too early,");
            }
            const std::span<const float> samples(interleaved.data(),
                                                 static_cast<std::size_t>(got->value()) * channels);
            if (const std::size_t bad = first_bad(samples); bad < samples.size()) {
                return file.failure_at(FailureKind::bad_samples,
                                       here + Frames(static_cast<std::int64_t>(bad / channels)),
                                       info.rate,
                                       "holds samples that are not numbers or are far too large,");
            }
            for (std::size_t c = 0; c < outputs.size(); ++c) {
                outputs[c] = out.channels[c].data() + done;
            }
            mix(downmix, channels, samples, outputs);
            done += got->value();
        }
        return Done{};
    }
};

Recording::Recording(std::unique_ptr<Inside> inside) : inside_(std::move(inside)) {}
Recording::~Recording() = default;
Recording::Recording(Recording&&) noexcept = default;
Recording& Recording::operator=(Recording&&) noexcept = default;

Result<Recording> Recording::open(const std::filesystem::path& path) {
    Result<OpenFile> file = OpenFile::open(path);
    if (!file) return file.failure();
    auto inside = std::make_unique<Inside>(std::move(*file));
    Result<std::unique_ptr<Decoder>> decoder = open_decoder(inside->file);
    if (!decoder) return decoder.failure();
    inside->decoder = std::move(*decoder);
    const DecoderInfo& found = inside->decoder->info();
    if (found.rate < lowest_rate || highest_rate < found.rate) {
        return inside->file.failure(FailureKind::unsupported,
                                    "has a sample rate of " + std::to_string(found.rate.value()) +
                                        " Hz; convert it to between 8 and 192 kHz");
    }
    inside->downmix = make_downmix(found.seats);
    inside->info = RecordingInfo{path,
                                 found.format,
                                 found.rate,
                                 static_cast<int>(inside->downmix.outputs()),
                                 found.channels,
                                 found.frames,
                                 inside->downmix.note};
    return Recording(std::move(inside));
}

const RecordingInfo& Recording::info() const {
    return inside_->info;
}

Result<Audio> Recording::read(FramesRange range, const Work& work) const {
    Audio whole{inside_->info.rate, range.from, {}};
    whole.channels.resize(static_cast<std::size_t>(inside_->info.channels));
    const auto length = static_cast<std::size_t>(std::max<std::int64_t>(
        0, std::min(range.to, inside_->info.frames).value() - range.from.value()));
    for (auto& channel : whole.channels)
        channel.reserve(length);
    Result<Done> done = read_blocks(
        range, Frames(4 * decode_frames),
        [&](const Audio& block) {
            for (std::size_t c = 0; c < whole.channels.size(); ++c) {
                whole.channels[c].insert(whole.channels[c].end(), block.channels[c].begin(),
                                         block.channels[c].end());
            }
            return true;
        },
        work);
    if (!done) return done.failure();
    return whole;
}

Result<Audio> Recording::read_all(const Work& work) const {
    return read(info().whole(), work);
}

Result<Done> Recording::read_blocks(FramesRange range, Frames block,
                                    const std::function<bool(const Audio&)>& take,
                                    const Work& work) const {
    assert(block.value() > 0);
    const RecordingInfo& about = inside_->info;
    if (range.from < Frames(0) || range.to < range.from || about.frames < range.to) {
        return Failure{FailureKind::out_of_range,
                       "the excerpt from frame " + std::to_string(range.from.value()) + " to " +
                           std::to_string(range.to.value()) + " is not within " +
                           about.path.string() + ", which has " +
                           std::to_string(about.frames.value()) + "; choose one that is",
                       Place{about.path.string(), range.from, {}}};
    }
    Result<Done> there = inside_->file.still_there();
    if (!there) return there;
    if (range.empty()) return Done{};
    Result<Done> sought = inside_->seek(range.from);
    const double length = static_cast<double>((range.to - range.from).value());
    Audio piece{about.rate, range.from, {}};
    piece.channels.resize(static_cast<std::size_t>(about.channels));
    for (Frames at = range.from; at < range.to;) {
        const Frames size = std::min(block, range.to - at);
        if (!work.report(static_cast<double>((at - range.from).value()) / length)) {
            return stopped_failure();
        }
        piece.start = at;
        for (auto& channel : piece.channels)
            channel.resize(static_cast<std::size_t>(size.value()));
        Result<Done> decoded = sought ? inside_->decode(at, piece) : sought;
        if (!decoded) {
            // A file that changed under our hands decodes to nonsense; say the true reason.
            inside_->decoder.reset();
            Result<Done> still = inside_->file.still_there();
            return still ? decoded : still;
        }
        at += size;
        if (!take(piece)) return Done{};
    }
    there = inside_->file.still_there();
    if (!there) return there;
    return work.report(1.0) ? Result<Done>(Done{}) : Result<Done>(stopped_failure());
}

}  // namespace bentline
