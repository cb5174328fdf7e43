// Partials of an ideal plucked string, bent by stiffness, heard at one place (Fletcher & Rossing,
// The Physics of Musical Instruments, chapters 2 and 9). The ranges are common practice, no source.
#include "tests/corpus/string_voice.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <cstddef>
#include <numbers>
#include <span>

#include "tests/support/dice.h"

namespace bentline::corpus {

namespace {

constexpr double pi = std::numbers::pi;

double stretch(int n, double stiffness) {
    return n * std::sqrt(1.0 + stiffness * n * n);
}

double body_gain(const StringMake& m, double f) {
    double gain = 0.35;
    for (double centre : m.body)
        gain += 1.0 / (1.0 + std::pow((f / centre - centre / f) * 2.5, 2.0));
    return gain;
}

double partial_gain(const StringMake& m, int n, double f, int velocity) {
    const double hard = (velocity - 76) / 60.0;  // harder is brighter
    double gain = std::abs(std::sin(n * pi * m.plucked_at)) * std::pow(n, -(m.slope - 0.5 * hard));
    gain *= m.heard_at > 0.0 ? std::abs(std::sin(n * pi * m.heard_at)) : body_gain(m, f);
    return gain + 1e-4;
}

}  // namespace

StringMake draw_string(std::uint64_t seed) {
    testing::Dice dice(seed ^ 0x57A1ULL);
    StringMake m{};
    m.plucked_at = dice.between(0.08, 0.32);
    m.heard_at = dice.chance(0.6) ? dice.between(0.06, 0.26) : 0.0;
    m.slope = dice.between(0.9, 2.0);
    m.stiffness = std::exp(dice.between(std::log(2e-5), std::log(1.5e-4)));
    m.ring = Seconds(dice.between(0.5, 2.5));
    m.ring_slope = dice.between(0.05, 0.4);
    m.struck_sharp = Cents(dice.between(0.0, 8.0));
    m.settling = Seconds(dice.between(0.04, 0.2));
    m.second = dice.between(0.1, 0.5);
    m.second_off = Cents(dice.between(0.1, 0.6));
    for (double& b : m.body)
        b = std::exp(dice.between(std::log(95.0), std::log(900.0)));
    return m;
}

Sounded StringVoice::play(MidiKey key, int velocity, Seconds length,
                          const std::function<Pitch(Seconds)>& line) {
    const double octaves = (key.value() - 40) / 12.0;
    const double stiffness = make_.stiffness * std::exp2(-octaves);
    const double nominal = frequency(Pitch(key)).value();
    const double ring = make_.ring.value() * std::pow(200.0 / nominal, 0.5);
    const int partials = std::clamp(static_cast<int>(9000.0 / nominal), 5, 40);

    // Where the first five partials lie together, in cents above the bare string.
    double sum = 0.0;
    double weight = 0.0;
    for (int n = 1; n <= 5; ++n) {
        const double w = std::pow(n * partial_gain(make_, n, n * nominal, velocity), 2.0);
        sum += w * 1200.0 * std::log2(stretch(n, stiffness) / n);
        weight += w;
    }
    const Cents together(sum / weight);

    Sounded s;
    s.pluck = Frames(0);
    const auto frames = static_cast<std::size_t>(to_frames(length, rate_).value());
    s.samples.assign(frames, 0.0F);
    for (std::size_t first = 0; first < frames; first += pitch_block) {
        const Seconds t =
            to_seconds(Frames(static_cast<std::int64_t>(first) + pitch_block / 2), rate_);
        s.pitch.push_back(line(t) + make_.struck_sharp * std::exp(-(t / make_.settling)));
    }
    for (int n = 1; n <= partials; ++n) {
        const double gain = partial_gain(make_, n, n * nominal, velocity);
        for (int polarisation = 0; polarisation < 2; ++polarisation) {
            std::complex<double> turn =
                std::polar(gain * (polarisation ? make_.second : 1.0), 1.9 * n);
            const double fall =
                (1.0 + make_.ring_slope * (n - 1)) / (ring * (polarisation ? 1.7 : 1.0));
            const double shrink = std::exp(-fall / rate_.value());
            for (std::size_t b = 0; b < s.pitch.size(); ++b) {
                const Cents off = polarisation ? make_.second_off : Cents(0);
                const double f =
                    frequency(s.pitch[b] - together + off).value() * stretch(n, stiffness);
                if (f > 0.45 * rate_.value()) break;
                const auto step = std::polar(shrink, 2.0 * pi * f / rate_.value());
                const std::size_t end =
                    std::min(frames, (b + 1) * static_cast<std::size_t>(pitch_block));
                for (std::size_t i = b * pitch_block; i < end; ++i) {
                    s.samples[i] += static_cast<float>(turn.imag());
                    turn *= step;
                }
            }
        }
    }
    const auto rise = static_cast<std::size_t>(rate_.value() / 500);  // 2 ms
    for (std::size_t i = 0; i < std::min(rise, frames); ++i) {
        s.samples[i] *= static_cast<float>(
            0.5 - 0.5 * std::cos(pi * static_cast<double>(i) / static_cast<double>(rise)));
    }
    const auto width = static_cast<std::size_t>(rate_.value() / 50);
    double best = 1e-20;
    for (std::size_t i = 0; i + width <= frames && i < 4 * width; i += width / 4) {
        double power = 0.0;
        for (std::size_t k = i; k < i + width; ++k)
            power += static_cast<double>(s.samples[k]) * s.samples[k];
        best = std::max(best, power / static_cast<double>(width));
    }
    s.plain_level = Decibels(10.0 * std::log10(best));
    return s;
}

}  // namespace bentline::corpus
