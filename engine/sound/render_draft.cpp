// The voice in blocks, mixed, limited and written.
#include "engine/sound/render_draft.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <memory>
#include <span>
#include <vector>

#include "engine/listening/limiter.h"
#include "engine/listening/stretcher.h"
#include "engine/recording/atomic_file.h"
#include "engine/recording/wav_file.h"
#include "engine/sound/draft_voice.h"

namespace bentline {
namespace {

constexpr std::size_t piece = 4096;
constexpr Seconds lead_in{0.3};
constexpr Seconds ring_out{1.0};

std::int64_t frames_of(SecondsRange span, double speed, SampleRate rate) {
    return std::llround((span.to - span.from).value() / speed * rate.value());
}

// The voice over a span, block by block.
class Take {
  public:
    Take(const PlayedPart& part, SecondsRange span, double speed, SampleRate rate)
        : voice_(std::make_shared<const PlayedPart>(part), rate),
          from_(span.from),
          a_frame_(speed / rate.value()) {}
    std::span<const float> next(std::size_t count) {
        const std::span<float> out(block_.data(), count);
        voice_.render({from_ + a_frame_ * static_cast<double>(done_), a_frame_}, Cents(0), out);
        done_ += static_cast<std::int64_t>(count);
        return out;
    }

  private:
    DraftVoice voice_;
    Seconds from_;
    Seconds a_frame_;
    std::int64_t done_ = 0;
    std::array<float, piece> block_{};
};

using Frame = std::array<float, 2>;

// Writes `total` frames of `make` through the limiter, its delay taken out.
Result<Done> write_limited(const std::filesystem::path& target, SampleRate rate, int channels,
                           std::int64_t total, const std::function<void(std::span<Frame>)>& make,
                           const Work& work) {
    auto file = WavWriter::create(target, rate, channels);
    if (!file) return file.failure();
    Limiter limiter(rate);
    std::int64_t late = limiter.delay().value();
    std::vector<Frame> block(piece);
    std::array<std::vector<float>, 2> ready;
    std::int64_t made = 0;
    while (file->written().value() < total) {
        if (!work.report(static_cast<double>(made) / static_cast<double>(total)))
            return stopped_failure();
        const auto left = std::max<std::int64_t>(0, total - made);
        const auto count = static_cast<std::size_t>(std::min<std::int64_t>(piece, left));
        std::fill(block.begin(), block.end(), Frame{});
        make(std::span(block.data(), count));
        made += static_cast<std::int64_t>(piece);
        for (auto& channel : ready)
            channel.clear();
        for (const Frame& frame : block) {
            const Frame limited = limiter.next(frame);
            if (late-- > 0) continue;
            for (std::size_t c = 0; c < 2; ++c)
                ready[c].push_back(limited[c]);
        }
        const auto wanted = static_cast<std::size_t>(total - file->written().value());
        const std::size_t n = std::min(ready[0].size(), wanted);
        const std::array<std::span<const float>, 2> parts = {std::span(ready[0].data(), n),
                                                             std::span(ready[1].data(), n)};
        if (auto ok = file->write(std::span(parts.data(), static_cast<std::size_t>(channels)));
            !ok) {
            return ok.failure();
        }
    }
    work.report(1.0);
    return file->finish();
}

Result<Done> check(SecondsRange span, double speed) {
    if (auto ok = check_speed(speed, Cents(0)); !ok) return ok;
    if (span.empty()) {
        return Failure{FailureKind::out_of_range,
                       "there is nothing to play between these two places: the second must lie "
                       "after the first",
                       {}};
    }
    return Done{};
}

}  // namespace

std::optional<SecondsRange> span_of_part(const PlayedPart& part) {
    if (part.notes.empty()) return std::nullopt;
    return SecondsRange{std::max(Seconds(0), part.notes.front().onset - lead_in),
                        part.notes.back().offset + ring_out};
}

Result<Audio> render_part(const PlayedPart& part, SecondsRange span, double speed, SampleRate rate,
                          const Work& work) {
    if (auto ok = check(span, speed); !ok) return ok.failure();
    const std::int64_t total = frames_of(span, speed, rate);
    Take take(part, span, speed, rate);
    Audio audio{rate, Frames(0), {{}}};
    std::vector<float>& out = audio.channels.front();
    out.reserve(static_cast<std::size_t>(total));
    while (static_cast<std::int64_t>(out.size()) < total) {
        if (!work.report(static_cast<double>(out.size()) / static_cast<double>(total)))
            return stopped_failure();
        const auto left = total - static_cast<std::int64_t>(out.size());
        const auto block = take.next(static_cast<std::size_t>(std::min<std::int64_t>(piece, left)));
        out.insert(out.end(), block.begin(), block.end());
    }
    work.report(1.0);
    return audio;
}

Result<Done> write_part(const PlayedPart& part, SecondsRange span, const PlayFileSettings& settings,
                        SampleRate rate, const std::filesystem::path& target, const Work& work) {
    if (auto ok = check(span, settings.speed); !ok) return ok.failure();
    Take take(part, span, settings.speed, rate);
    const auto make = [&](std::span<Frame> block) {
        const auto voice = take.next(block.size());
        for (std::size_t i = 0; i < block.size(); ++i)
            block[i] = {voice[i], voice[i]};
    };
    return write_limited(target, rate, 1, frames_of(span, settings.speed, rate), make, work);
}

Result<Done> write_part_beside(const PlayedPart& part, const Recording& recording,
                               SecondsRange span, const PlayFileSettings& settings,
                               const std::filesystem::path& target, const Work& work) {
    if (auto ok = check(span, settings.speed); !ok) return ok.failure();
    const RecordingInfo& info = recording.info();
    if (auto ok = check_apart(target, info.path); !ok) return ok;
    const auto within = [&](Seconds t) {
        return std::clamp(to_frames(t, info.rate), Frames(0), info.frames);
    };
    auto read = recording.read({within(span.from), within(span.to)}, work.part(0.0, 0.1));
    if (!read) return read.failure();
    Audio heard = std::move(read).value();
    if (settings.speed != 1.0 && heard.length() > Frames(0)) {
        auto slow = slow_down(heard, settings.speed, Cents(0), work.part(0.1, 0.7));
        if (!slow) return slow.failure();
        heard = std::move(slow).value();
    }
    Take take(part, span, settings.speed, info.rate);
    const BalanceGains gains = gains_at(settings.balance);
    const auto record = static_cast<float>(gains.recording);
    const auto draft = static_cast<float>(gains.second);
    std::size_t at = 0;
    const auto there = static_cast<std::size_t>(heard.length().value());
    const auto make = [&](std::span<Frame> block) {
        const auto voice = take.next(block.size());
        for (std::size_t i = 0; i < block.size(); ++i, ++at) {
            const float left = at < there ? heard.channels.front()[at] : 0.0F;
            const float right = at < there ? heard.channels.back()[at] : 0.0F;
            if (settings.split)
                block[i] = {record * 0.5F * (left + right), draft * voice[i]};
            else
                block[i] = {record * left + draft * voice[i], record * right + draft * voice[i]};
        }
    };
    return write_limited(target, info.rate, 2, frames_of(span, settings.speed, info.rate), make,
                         work.part(0.7, 1.0));
}

}  // namespace bentline
