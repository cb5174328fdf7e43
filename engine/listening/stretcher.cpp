// The vocoder and the resampler behind Stretcher.
#include "engine/listening/stretcher.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <vector>

#include "engine/listening/resampler.h"
#include "engine/listening/vocoder.h"

namespace bentline {

namespace {

constexpr std::size_t chunk = 256;      // frames taken from the vocoder at once
constexpr double settle_frames = 1024;  // over which a last fraction of a frame is made up

}  // namespace

Result<Done> check_speed(double speed, Cents retune) {
    if (!(speed >= slowest && speed <= fastest)) {
        return Failure{FailureKind::out_of_range,
                       "the speed must lie between 0.1 and 2 (1 = as recorded)",
                       {}};
    }
    if (!(std::abs(retune.value()) <= most_retune.value())) {
        return Failure{
            FailureKind::out_of_range, "the retune must lie between -1200 and 1200 cents", {}};
    }
    return Done{};
}

struct Stretcher::Parts {
    Parts(SampleRate in, int n, SampleRate out)
        : channels(static_cast<std::size_t>(n)),
          rates(static_cast<double>(in.value()) / out.value()),
          vocoder(in, n),
          weights(static_cast<std::size_t>(ResamplerKernel::most_taps) + 2) {
        const auto length = static_cast<std::size_t>(ResamplerKernel::most_taps) + 2 * chunk;
        for (auto& t : tail)
            t.assign(length, 0.0F);
        for (auto& p : past)
            p.assign(static_cast<std::size_t>(ResamplerKernel::most_taps) / 2, 0.0F);
        renew();
    }

    std::size_t channels;
    double rates;
    double speed = 1.0;
    Cents retune;
    double ratio = 1.0;  // vocoder frames per output frame
    Vocoder vocoder;
    ResamplerKernel kernel;
    std::vector<float> weights;
    // The resampler's input: vocoder frames [0, held) round `at`, the place of the next output
    // frame.
    std::array<std::vector<float>, 2> tail;
    std::array<std::vector<float>, 2> past;  // the last frames put out straight
    std::size_t held = 0;
    double at = 0.0;
    bool straight = true;  // ratio 1 and no fraction left: the vocoder's frames are the output

    void renew() {
        ratio = rates * std::exp2(retune.value() / 1200.0);
        if (rates == 1.0 && retune.value() == 0.0) ratio = 1.0;
        assert(ratio <= ResamplerKernel::most_ratio);
        if (ratio != 1.0 && straight) {
            // What was put out last lies before the resampler's first frame.
            straight = false;
            for (std::size_t c = 0; c < channels; ++c)
                std::copy(past[c].begin(), past[c].end(), tail[c].begin());
            held = past[0].size();
            at = static_cast<double>(held);
        }
        vocoder.set_speed(speed * rates / ratio);
    }

    void begin(Frames place) {
        straight = ratio == 1.0;
        held = 0;
        at = 0.0;
        // The resampler also wants what lies before the first frame.
        const int before = straight ? 0 : ResamplerKernel::reach(ratio);
        at = before;
        for (auto& p : past)
            std::fill(p.begin(), p.end(), 0.0F);
        vocoder.start(static_cast<double>(place.value()) - before * speed * rates / ratio);
    }

    void remember(const std::array<float*, 2>& out, std::size_t count) {
        const std::size_t n = std::min(count, past[0].size());
        for (std::size_t c = 0; c < channels; ++c) {
            std::copy(past[c].begin() + static_cast<std::ptrdiff_t>(n), past[c].end(),
                      past[c].begin());
            std::copy_n(out[c] + (count - n), n, past[c].end() - static_cast<std::ptrdiff_t>(n));
        }
    }

    void pull(FrameSource& line, std::size_t count) {
        std::array<float*, 2> into{};
        for (std::size_t c = 0; c < channels; ++c)
            into[c] = tail[c].data() + held;
        vocoder.render(line, std::span(into.data(), channels), count);
        held += count;
    }

    void resample(FrameSource& line, std::span<float* const> out, std::size_t index) {
        double step = ratio;
        if (ratio == 1.0) {
            // Make up the fraction left over from another ratio, then go straight.
            const double off = std::ceil(at) - at;
            step = 1.0 + std::min(off, 1.0 / settle_frames);
        }
        const int reach = ResamplerKernel::reach(ratio);
        const auto whole = static_cast<std::int64_t>(std::floor(at));
        const auto need = static_cast<std::size_t>(whole + reach + 1);
        while (held < need) {
            if (held + chunk > tail[0].size()) drop();
            pull(line, chunk);
            return resample(line, out, index);
        }
        kernel.weights(at - static_cast<double>(whole), ratio, weights.data());
        for (std::size_t c = 0; c < channels; ++c) {
            float sum = 0.0F;
            const std::int64_t first = whole - reach + 1;
            for (int j = static_cast<int>(std::max<std::int64_t>(0, -first)); j < 2 * reach; ++j) {
                sum += weights[static_cast<std::size_t>(j)] *
                       tail[c][static_cast<std::size_t>(first + j)];
            }
            out[c][index] = sum;
        }
        at += step;
    }

    // Moves what is still wanted to the front.
    void drop() {
        const int reach = ResamplerKernel::reach(ratio);
        const auto first =
            std::max<std::int64_t>(0, static_cast<std::int64_t>(std::floor(at)) - reach - 1);
        const auto keep = static_cast<std::size_t>(first);
        for (std::size_t c = 0; c < channels; ++c) {
            std::copy(tail[c].begin() + first, tail[c].begin() + static_cast<std::ptrdiff_t>(held),
                      tail[c].begin());
        }
        held -= keep;
        at -= static_cast<double>(first);
    }
};

Stretcher::Stretcher(SampleRate in, int channels, SampleRate out)
    : parts_(std::make_unique<Parts>(in, channels, out)) {
    assert(channels == 1 || channels == 2);
}
Stretcher::~Stretcher() = default;
Stretcher::Stretcher(Stretcher&&) noexcept = default;
Stretcher& Stretcher::operator=(Stretcher&&) noexcept = default;

void Stretcher::set_speed(double speed) {
    assert(speed >= slowest && speed <= fastest);
    parts_->speed = speed;
    parts_->renew();
}
void Stretcher::set_retune(Cents retune) {
    assert(std::abs(retune.value()) <= most_retune.value());
    parts_->retune = retune;
    parts_->renew();
}
double Stretcher::speed() const {
    return parts_->speed;
}
Cents Stretcher::retune() const {
    return parts_->retune;
}
void Stretcher::start(Frames place) {
    parts_->begin(place);
}
void Stretcher::reread() {
    parts_->vocoder.reread();
}
Frames Stretcher::lookahead() const {
    return parts_->vocoder.lookahead();
}

double Stretcher::place() const {
    const Parts& p = *parts_;
    if (p.straight) return p.vocoder.place();
    // The vocoder is ahead by what the resampler still holds.
    return p.vocoder.place() - (static_cast<double>(p.held) - p.at) * p.speed * p.rates / p.ratio;
}

void Stretcher::render(FrameSource& line, std::span<float* const> out, std::size_t count) {
    Parts& p = *parts_;
    for (std::size_t i = 0; i < count;) {
        if (p.straight) {
            std::array<float*, 2> into{};
            for (std::size_t c = 0; c < p.channels; ++c)
                into[c] = out[c] + i;
            p.vocoder.render(line, std::span(into.data(), p.channels), count - i);
            p.remember(into, count - i);
            return;
        }
        p.resample(line, out, i);
        ++i;
        if (p.ratio == 1.0 && p.at == std::floor(p.at)) {
            // Give out what the resampler still holds, frame by frame, then go straight.
            const auto first = static_cast<std::size_t>(p.at);
            const std::size_t n = std::min(p.held > first ? p.held - first : 0, count - i);
            for (std::size_t c = 0; c < p.channels; ++c) {
                std::copy_n(p.tail[c].begin() + static_cast<std::ptrdiff_t>(first), n, out[c] + i);
            }
            i += n;
            p.at += static_cast<double>(n);
            if (static_cast<std::size_t>(p.at) >= p.held) p.straight = true;
        }
    }
}

namespace {

// Sound in memory as a line; what is not a number is silence.
class AudioLine final : public FrameSource {
  public:
    explicit AudioLine(const Audio& audio) : audio_(&audio) {}
    void read(Frames from, std::size_t count, std::span<float* const> out) override {
        const std::int64_t length = audio_->length().value();
        for (std::size_t c = 0; c < out.size(); ++c) {
            for (std::size_t i = 0; i < count; ++i) {
                const std::int64_t at = from.value() + static_cast<std::int64_t>(i);
                const float x = at < 0 || at >= length
                                    ? 0.0F
                                    : audio_->channels[c][static_cast<std::size_t>(at)];
                out[c][i] = std::isfinite(x) ? x : 0.0F;
            }
        }
    }

  private:
    const Audio* audio_;
};

}  // namespace

Result<Audio> slow_down(const Audio& in, double speed, Cents retune, const Work& work) {
    if (auto ok = check_speed(speed, retune); !ok) return ok.failure();
    const auto total = std::llround(static_cast<double>(in.length().value()) / speed);
    Audio out{in.rate, Frames(0), {}};
    out.channels.assign(in.channels.size(), std::vector<float>(static_cast<std::size_t>(total)));
    if (total == 0) return out;
    Stretcher stretcher(in.rate, static_cast<int>(in.channels.size()));
    stretcher.set_speed(speed);
    stretcher.set_retune(retune);
    stretcher.start(Frames(0));
    AudioLine line(in);
    constexpr std::int64_t piece = 4096;
    for (std::int64_t done = 0; done < total; done += piece) {
        if (!work.report(static_cast<double>(done) / static_cast<double>(total)))
            return stopped_failure();
        std::array<float*, 2> into{};
        for (std::size_t c = 0; c < in.channels.size(); ++c)
            into[c] = out.channels[c].data() + done;
        stretcher.render(line, std::span(into.data(), in.channels.size()),
                         static_cast<std::size_t>(std::min<std::int64_t>(piece, total - done)));
    }
    if (!work.report(1.0)) return stopped_failure();
    return out;
}

}  // namespace bentline
