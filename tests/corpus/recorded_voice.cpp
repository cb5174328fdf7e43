#include "tests/corpus/recorded_voice.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <numbers>

namespace bentline::corpus {

namespace {

constexpr int taps = 16;       // a side
constexpr int fineness = 256;  // places between two frames

// A sinc under a Hann window, by distance in frames.
std::vector<float> make_kernel() {
    std::vector<float> kernel(static_cast<std::size_t>(taps * fineness) + 2, 0.0F);
    for (std::size_t i = 0; i < kernel.size(); ++i) {
        const double x = static_cast<double>(i) / fineness;
        if (x >= taps) continue;
        const double sinc = x > 0.0 ? std::sin(std::numbers::pi * x) / (std::numbers::pi * x) : 1.0;
        kernel[i] = static_cast<float>(sinc * (0.5 + 0.5 * std::cos(std::numbers::pi * x / taps)));
    }
    return kernel;
}

// Reads a tone at any place, round its loop.
class Head {
  public:
    explicit Head(const RecordedTone& tone) : tone_(tone), kernel_(make_kernel()) {}

    // ratio: frames of the recording a frame of output; above 1 the kernel widens against aliases.
    float read(double at, double ratio) const {
        const double stretch = std::max(1.0, ratio);
        const auto reach = static_cast<std::int64_t>(std::ceil(taps * stretch));
        const auto middle = static_cast<std::int64_t>(std::floor(at));
        double sum = 0.0;
        for (std::int64_t i = middle - reach + 1; i <= middle + reach; ++i) {
            const double away = std::abs(at - static_cast<double>(i)) / stretch * fineness;
            const auto k = static_cast<std::size_t>(away);
            if (k + 1 >= kernel_.size()) continue;
            const double w = away - static_cast<double>(k);
            sum += sample(i) * ((1.0 - w) * static_cast<double>(kernel_[k]) +
                                w * static_cast<double>(kernel_[k + 1]));
        }
        return static_cast<float>(sum / stretch);
    }

  private:
    double sample(std::int64_t i) const {
        if (i < 0) return 0.0;
        const auto at = static_cast<std::size_t>(i);
        if (tone_.loop_to <= tone_.loop_from) {
            return at < tone_.samples.size() ? static_cast<double>(tone_.samples[at]) : 0.0;
        }
        if (at < tone_.loop_to) return static_cast<double>(tone_.samples[at]);
        const std::size_t round = tone_.loop_to - tone_.loop_from;
        const double since = static_cast<double>(at - tone_.loop_to) / tone_.rate;
        return static_cast<double>(tone_.samples[tone_.loop_from + (at - tone_.loop_to) % round]) *
               amplitude(Decibels(-tone_.loop_fall.value() * since));
    }

    const RecordedTone& tone_;
    std::vector<float> kernel_;
};

}  // namespace

const PlainTone& RecordedVoice::plain_tone(std::size_t which) {
    if (const auto it = known_.find(which); it != known_.end()) return it->second;
    const RecordedTone& tone = tones_[which];
    const Head head(tone);
    const double ratio = tone.rate / rate_.value();
    std::vector<float> x(static_cast<std::size_t>(2.1 * rate_.value()));
    for (std::size_t i = 0; i < x.size(); ++i)
        x[i] = head.read(ratio * static_cast<double>(i), ratio);
    return known_.emplace(which, measure_plain_tone(x, rate_, tone.key, Drift::breathed))
        .first->second;
}

Sounded RecordedVoice::play(MidiKey key, int /*velocity*/, Seconds length,
                            const std::function<Pitch(Seconds)>& line) {
    std::size_t which = 0;
    for (std::size_t i = 1; i < tones_.size(); ++i) {
        if (std::abs(tones_[i].key.value() - key.value()) <
            std::abs(tones_[which].key.value() - key.value()))
            which = i;
    }
    const RecordedTone& tone = tones_[which];
    const PlainTone& plain = plain_tone(which);
    const Cents off = plain.pitch_at(Seconds(0.15));
    // How much faster than recorded it must run at a time.
    const auto speed = [&](Seconds since) {
        return std::exp2((line(since) - Pitch(tone.key) - off).value() / 1200.0);
    };

    Sounded s;
    s.pluck = to_frames(plain.delay * (1.0 / speed(Seconds(0))), rate_);
    s.plain_level = plain.level;
    const Head head(tone);
    const auto frames = static_cast<std::size_t>((s.pluck + to_frames(length, rate_)).value());
    const double base = tone.rate / rate_.value();
    double at = 0.0;  // frames of the recording
    for (std::size_t first = 0; first < frames; first += pitch_block) {
        const Frames middle(static_cast<std::int64_t>(first) + pitch_block / 2);
        const Seconds since = std::max(Seconds(0), to_seconds(middle - s.pluck, rate_));
        const double v = speed(since);
        const Seconds recorded(at / tone.rate + 0.5 * pitch_block * v / rate_.value());
        s.pitch.push_back(Pitch(tone.key) + Cents(1200.0 * std::log2(v)) +
                          plain.pitch_at(recorded - plain.delay));
        for (std::size_t i = first; i < first + pitch_block; ++i) {
            s.samples.push_back(head.read(at, base * v));
            at += base * v;
        }
    }
    return s;
}

void loop_the_end(RecordedTone& tone, Hertz f) {
    const double period = tone.rate / f.value();
    const auto size = static_cast<double>(tone.samples.size());
    if (size < 0.15 * tone.rate) return;
    const double round = period * std::max(1.0, std::round(0.06 * tone.rate / period));
    const auto to = static_cast<std::size_t>(size - 1.0);
    const std::size_t from = to - static_cast<std::size_t>(std::lround(round));
    // Towards its end the recording turns into what sounds one round before.
    const auto seam = static_cast<std::size_t>(0.5 * round);
    for (std::size_t i = 0; i < seam; ++i) {
        const std::size_t here = to - seam + i;
        const float w = static_cast<float>(i) / static_cast<float>(seam);
        tone.samples[here] = (1.0F - w) * tone.samples[here] + w * tone.samples[here - (to - from)];
    }
    tone.loop_from = from;
    tone.loop_to = to;
}

}  // namespace bentline::corpus
