// The stretcher fed from an open recording.
#include "engine/listening/slow_file.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <optional>
#include <span>
#include <vector>

#include "engine/listening/frame_source.h"
#include "engine/listening/stretcher.h"
#include "engine/recording/wav_file.h"

namespace bentline {

namespace {

// A range of a recording as a line, read ahead in large pieces. Frame 0 of the line is the range's
// first. A failure of the recording is kept, and the line is silent from there on.
class FileLine final : public FrameSource {
  public:
    FileLine(const Recording& recording, FramesRange range)
        : recording_(recording), range_(range) {}

    void read(Frames from, std::size_t count, std::span<float* const> out) override {
        for (std::size_t done = 0; done < count;) {
            const Frames at = from + Frames(static_cast<std::int64_t>(done));
            const std::size_t got = copy(at, count - done, done, out);
            done += got;
        }
    }
    const std::optional<Failure>& failure() const { return failure_; }

  private:
    static constexpr Frames piece{1 << 16};

    // Writes up to `count` frames from line frame `at`; returns how many, at least one.
    std::size_t copy(Frames at, std::size_t count, std::size_t done, std::span<float* const> out) {
        const Frames place = range_.from + at;
        std::int64_t silent = 0;
        if (place < range_.from) silent = (range_.from - place).value();
        if (place >= range_.to || (silent == 0 && !hold(place))) {
            silent = static_cast<std::int64_t>(count);
        }
        if (silent > 0) {
            const std::size_t n = std::min(count, static_cast<std::size_t>(silent));
            for (float* channel : out)
                std::fill_n(channel + done, n, 0.0F);
            return n;
        }
        const auto first = static_cast<std::size_t>((place - held_.start).value());
        const auto there = static_cast<std::size_t>(held_.length().value()) - first;
        const std::size_t n = std::min(count, there);
        for (std::size_t c = 0; c < out.size(); ++c) {
            std::copy_n(held_.channels[c].begin() + static_cast<std::ptrdiff_t>(first), n,
                        out[c] + done);
        }
        return n;
    }

    bool hold(Frames place) {
        if (failure_) return false;
        if (place >= held_.start && place < held_.start + held_.length()) return true;
        auto next = recording_.read({place, std::min(place + piece, range_.to)});
        if (!next) {
            failure_ = next.failure();
            return false;
        }
        held_ = std::move(next).value();
        return held_.length() > Frames(0);
    }

    const Recording& recording_;
    FramesRange range_;
    Audio held_;
    std::optional<Failure> failure_;
};

// Fades the frames of a block that lie within `fade` of an end that is a cut. `at`: of the block's
// first frame in the whole, `total` frames long.
struct Cuts {
    std::int64_t fade;
    std::int64_t total;
    bool begins;  // it begins with a cut
    bool ends;

    void apply(std::span<float> block, std::int64_t at) const {
        for (std::size_t i = 0; i < block.size(); ++i) {
            const std::int64_t after = at + static_cast<std::int64_t>(i);
            const std::int64_t before = total - 1 - after;
            double g = 1.0;
            if (begins && after < fade) g = level(after);
            if (ends && before < fade) g *= level(before);
            block[i] *= static_cast<float>(g);
        }
    }
    double level(std::int64_t frame) const {
        const double x = (static_cast<double>(frame) + 0.5) / static_cast<double>(fade);
        return 0.5 - 0.5 * std::cos(std::numbers::pi * x);
    }
};

}  // namespace

Result<Done> slow_file(const Recording& recording, FramesRange range, double speed, Cents retune,
                       const std::filesystem::path& out, const Work& work) {
    if (auto ok = check_apart(out, recording.info().path); !ok) return ok;
    auto file = AtomicFile::create(out);
    if (!file) return file.failure();
    return slow_file(recording, range, speed, retune, std::move(*file), work);
}

Result<Done> slow_file(const Recording& recording, FramesRange range, double speed, Cents retune,
                       AtomicFile out, const Work& work) {
    if (auto ok = check_speed(speed, retune); !ok) return ok.failure();
    const RecordingInfo& info = recording.info();
    // An empty read checks the range without decoding it.
    if (auto ok = recording.read({range.from, range.from}); !ok) return ok.failure();

    const auto channels = static_cast<std::size_t>(info.channels);
    auto file = WavWriter::create(std::move(out), info.rate, info.channels);
    if (!file) return file.failure();
    Stretcher stretcher(info.rate, info.channels);
    stretcher.set_speed(speed);
    stretcher.set_retune(retune);
    stretcher.start(Frames(0));
    FileLine line(recording, range);

    const std::int64_t total =
        std::llround(static_cast<double>((range.to - range.from).value()) / speed);
    const bool as_it_is = speed == 1.0 && retune.value() == 0.0;
    const Cuts cuts{std::min<std::int64_t>(to_frames(cut_fade, info.rate).value(), total / 2),
                    total, !as_it_is && range.from > Frames(0),
                    !as_it_is && range.to < info.frames};
    constexpr std::int64_t piece = 8192;
    std::vector<std::vector<float>> block(channels, std::vector<float>(piece));
    for (std::int64_t done = 0; done < total; done += piece) {
        if (!work.report(static_cast<double>(done) / static_cast<double>(total))) {
            return stopped_failure();
        }
        const auto count = static_cast<std::size_t>(std::min<std::int64_t>(piece, total - done));
        std::array<float*, 2> into{};
        std::array<std::span<const float>, 2> ready;
        for (std::size_t c = 0; c < channels; ++c) {
            into[c] = block[c].data();
            ready[c] = std::span(block[c].data(), count);
        }
        stretcher.render(line, std::span(into.data(), channels), count);
        if (line.failure()) return *line.failure();
        for (std::size_t c = 0; c < channels; ++c)
            cuts.apply(std::span(block[c].data(), count), done);
        if (auto ok = file->write(std::span(ready.data(), channels)); !ok) return ok.failure();
    }
    work.report(1.0);
    return file->finish();
}

}  // namespace bentline
