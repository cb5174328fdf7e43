// Builds the finest level while frames stream by, then halves it level by level.
#include "engine/recording/overview.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <span>

namespace bentline {

namespace {

// Collects one channel's bins of a fixed size from samples that arrive in pieces of any size.
class BinCollector {
  public:
    explicit BinCollector(std::int64_t frames_a_bin) : size_(frames_a_bin) {}

    void take(std::span<const float> samples) {
        for (const float x : samples) {
            if (count_ == 0) {
                lowest_ = x;
                highest_ = x;
            } else {
                lowest_ = std::min(lowest_, x);
                highest_ = std::max(highest_, x);
            }
            squares_ += static_cast<double>(x) * x;
            if (++count_ == size_) flush();
        }
    }

    std::vector<OverviewBin> finish() {
        if (count_ > 0) flush();
        return std::move(bins_);
    }

  private:
    void flush() {
        const auto rms = static_cast<float>(std::sqrt(squares_ / static_cast<double>(count_)));
        // Rounding may lift the mean of equal samples a hair above them.
        const float peak = std::max(std::fabs(lowest_), std::fabs(highest_));
        bins_.push_back({lowest_, highest_, std::min(rms, peak)});
        count_ = 0;
        squares_ = 0.0;
    }

    std::int64_t size_;
    std::int64_t count_ = 0;
    float lowest_ = 0.0F;
    float highest_ = 0.0F;
    double squares_ = 0.0;
    std::vector<OverviewBin> bins_;
};

// Two neighbouring bins as one. The last bin of a level may cover fewer frames than the others; its
// mean square then counts by what it covers.
OverviewBin joined(const OverviewBin& a, const OverviewBin& b, double frames_a, double frames_b) {
    const double squares = static_cast<double>(a.rms) * a.rms * frames_a +
                           static_cast<double>(b.rms) * b.rms * frames_b;
    return {std::min(a.lowest, b.lowest), std::max(a.highest, b.highest),
            static_cast<float>(std::sqrt(squares / (frames_a + frames_b)))};
}

OverviewLevel halved(const OverviewLevel& fine, Frames frames) {
    OverviewLevel coarse{fine.start, fine.frames_a_bin * 2, {}};
    const std::int64_t size = fine.frames_a_bin.value();
    for (const auto& bins : fine.channels) {
        std::vector<OverviewBin> out;
        out.reserve((bins.size() + 1) / 2);
        for (std::size_t b = 0; b < bins.size(); b += 2) {
            if (b + 1 == bins.size()) {
                out.push_back(bins[b]);
                continue;
            }
            const std::int64_t begin = static_cast<std::int64_t>(b + 1) * size;
            const auto second = static_cast<double>(std::min(size, frames.value() - begin));
            out.push_back(joined(bins[b], bins[b + 1], static_cast<double>(size), second));
        }
        coarse.channels.push_back(std::move(out));
    }
    return coarse;
}

Overview pyramid(SampleRate rate, Frames frames, OverviewLevel finest) {
    Overview made{rate, frames, {}};
    made.levels.push_back(std::move(finest));
    while (made.levels.back().bins() > 1)
        made.levels.push_back(halved(made.levels.back(), frames));
    return made;
}

// The finest bin that keeps the level within its bound: a power of two times the finest size.
Frames bin_for(Frames frames) {
    std::int64_t size = overview_finest_frames;
    while ((frames.value() + size - 1) / size > static_cast<std::int64_t>(overview_most_bins)) {
        size *= 2;
    }
    return Frames(size);
}

Result<OverviewLevel> collect(const Recording& recording, FramesRange range, Frames frames_a_bin,
                              const Work& work) {
    const auto channels = static_cast<std::size_t>(recording.info().channels);
    std::vector<BinCollector> collectors(channels, BinCollector(frames_a_bin.value()));
    constexpr Frames block{65536};
    Result<Done> read = recording.read_blocks(
        range, block,
        [&](const Audio& piece) {
            for (std::size_t c = 0; c < channels; ++c)
                collectors[c].take(piece.channel(c));
            return true;
        },
        work);
    if (!read) return read.failure();
    OverviewLevel level{range.from, frames_a_bin, {}};
    for (BinCollector& collector : collectors)
        level.channels.push_back(collector.finish());
    return level;
}

}  // namespace

const OverviewLevel& Overview::level_for(FramesRange range, std::size_t bins) const {
    assert(!levels.empty());
    const auto length = static_cast<double>((range.to - range.from).value());
    const OverviewLevel* best = &levels.front();
    for (const OverviewLevel& level : levels) {
        const double there = length / static_cast<double>(level.frames_a_bin.value());
        if (there >= static_cast<double>(bins)) best = &level;
    }
    return *best;
}

Result<Overview> make_overview(const Recording& recording, const Work& work) {
    const RecordingInfo& info = recording.info();
    Result<OverviewLevel> finest = collect(recording, info.whole(), bin_for(info.frames), work);
    if (!finest) return finest.failure();
    return pyramid(info.rate, info.frames, std::move(*finest));
}

Overview make_overview(const Audio& audio) {
    const Frames size = bin_for(audio.length());
    OverviewLevel finest{Frames(0), size, {}};
    for (const auto& samples : audio.channels) {
        BinCollector collector(size.value());
        collector.take(samples);
        finest.channels.push_back(collector.finish());
    }
    return pyramid(audio.rate, audio.length(), std::move(finest));
}

}  // namespace bentline
