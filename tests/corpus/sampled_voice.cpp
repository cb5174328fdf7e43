// Plays soundfont tones through FluidSynth's own interface, off line, dry.
#include "tests/corpus/sampled_voice.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <span>
#include <string>

#include <fluidsynth.h>

#include "tests/corpus/repetition.h"

namespace bentline::corpus {

struct SampledVoice::Synth {
    fluid_settings_t* settings = nullptr;
    fluid_synth_t* synth = nullptr;
    Synth() = default;
    Synth(const Synth&) = delete;
    Synth& operator=(const Synth&) = delete;
    ~Synth() {
        if (synth) delete_fluid_synth(synth);
        if (settings) delete_fluid_settings(settings);
    }
};

namespace {

constexpr int bend_range = 12;  // semitones; one step of 16384 is then 0.146 cents
// FluidSynth takes the range as a share of 128 where the standard's amount is for 127: a bend comes
// out short by this (test_truth.cpp measures it).
constexpr double bend_shortfall = 127.0 / 128.0;
// It also drops what is less than a whole cent; half a cent more than wanted makes that harmless.
constexpr Cents whole_cent_margin{0.5};

// The pitch of a plain tone at times since it speaks. The first windows are short, because a
// plucked tone falls quickly at first; low strings get three periods at least.
std::vector<std::pair<Seconds, Cents>> measure_drift(std::span<const float> x, SampleRate rate,
                                                     MidiKey key) {
    struct Spot {
        double at, width;
    };
    static constexpr Spot spots[] = {{0.045, 0.07}, {0.10, 0.08}, {0.16, 0.08},
                                     {0.25, 0.1},   {0.4, 0.1},   {0.6, 0.12},
                                     {0.9, 0.15},   {1.3, 0.2},   {1.8, 0.2}};
    std::vector<std::pair<Seconds, Cents>> found;
    const Hertz nominal = frequency(Pitch(key));
    Hertz expected = nominal;
    for (const Spot& s : spots) {
        const auto from = static_cast<std::size_t>((s.at - s.width / 2) * rate.value());
        const auto size = static_cast<std::size_t>(s.width * rate.value());
        if (from + size > x.size()) break;
        if (const auto f = repetition_rate(x.subspan(from, size), rate, expected)) {
            found.emplace_back(Seconds(s.at), interval(nominal, *f));
            expected = *f;
        }
    }
    return found;
}

Decibels loudest(std::span<const float> x, SampleRate rate) {
    const auto width = static_cast<std::size_t>(rate.value() / 50);
    double best = 0.0;
    for (std::size_t i = 0; i + width <= x.size(); i += width / 4) {
        double power = 0.0;
        for (std::size_t k = i; k < i + width; ++k)
            power += static_cast<double>(x[k]) * x[k];
        best = std::max(best, power / static_cast<double>(width));
    }
    return Decibels(10.0 * std::log10(best + 1e-20));
}

}  // namespace

Cents PlainTone::pitch_at(Seconds t) const {
    if (drift.empty()) return Cents(0);
    if (t <= drift.front().first) return drift.front().second;
    for (std::size_t i = 1; i < drift.size(); ++i) {
        if (t < drift[i].first) {
            const auto& [ta, a] = drift[i - 1];
            const auto& [tb, b] = drift[i];
            return a + (b - a) * ((t - ta) / (tb - ta));
        }
    }
    return drift.back().second;
}

SampledVoice::SampledVoice(std::unique_ptr<Synth> synth, SampleRate rate)
    : synth_(std::move(synth)), rate_(rate) {}
SampledVoice::SampledVoice(SampledVoice&&) noexcept = default;
SampledVoice::~SampledVoice() = default;

Result<SampledVoice> SampledVoice::open(const std::filesystem::path& font, int program,
                                        SampleRate rate) {
    fluid_set_log_function(FLUID_WARN, nullptr, nullptr);
    fluid_set_log_function(FLUID_INFO, nullptr, nullptr);
    auto s = std::make_unique<Synth>();
    s->settings = new_fluid_settings();
    fluid_settings_setnum(s->settings, "synth.sample-rate", rate.value());
    fluid_settings_setint(s->settings, "synth.reverb.active", 0);
    fluid_settings_setint(s->settings, "synth.chorus.active", 0);
    fluid_settings_setint(s->settings, "synth.dynamic-sample-loading", 1);
    fluid_settings_setnum(s->settings, "synth.gain", 0.5);
    s->synth = new_fluid_synth(s->settings);
    const int id = fluid_synth_sfload(s->synth, font.c_str(), 0);
    if (id == FLUID_FAILED) {
        return Failure{
            FailureKind::not_found,
            "cannot load the soundfont " + font.string() + ": run third_party/install.sh test",
            {font.string(), {}, {}}};
    }
    if (fluid_synth_program_select(s->synth, 0, id, 0, program) == FLUID_FAILED) {
        return Failure{FailureKind::unsupported,
                       font.string() + " has no program " + std::to_string(program),
                       {font.string(), {}, {}}};
    }
    fluid_synth_set_interp_method(s->synth, -1, FLUID_INTERP_7THORDER);
    fluid_synth_pitch_wheel_sens(s->synth, 0, bend_range);
    return SampledVoice(std::move(s), rate);
}

std::vector<float> SampledVoice::run(MidiKey key, int velocity, Frames length,
                                     const std::function<Cents(Frames)>& bend) {
    fluid_synth_t* y = synth_->synth;
    std::vector<float> left(static_cast<std::size_t>(pitch_block));
    std::vector<float> right(static_cast<std::size_t>(pitch_block));
    const auto pull = [&] {
        fluid_synth_write_float(y, pitch_block, left.data(), 0, 1, right.data(), 0, 1);
    };
    fluid_synth_all_sounds_off(y, 0);
    for (int i = 0; i < 4; ++i)
        pull();  // until the voices of the last stroke are gone
    std::vector<float> out;
    out.reserve(static_cast<std::size_t>(length.value() + pitch_block));
    for (Frames at(0); at < length; at += Frames(pitch_block)) {
        const Cents cents = bend(at + Frames(pitch_block / 2)) + whole_cent_margin;
        const double steps = 8192.0 * cents.value() / (100.0 * bend_range * bend_shortfall);
        fluid_synth_pitch_bend(y, 0,
                               std::clamp(8192 + static_cast<int>(std::lround(steps)), 0, 16383));
        if (at == Frames(0)) fluid_synth_noteon(y, 0, key.value(), velocity);
        pull();
        for (std::size_t i = 0; i < left.size(); ++i)
            out.push_back(0.5F * (left[i] + right[i]));
    }
    fluid_synth_all_sounds_off(y, 0);
    return out;
}

const PlainTone& SampledVoice::plain_tone(MidiKey key, int velocity) {
    const auto place = std::make_pair(key.value(), velocity);
    if (const auto it = known_.find(place); it != known_.end()) return it->second;
    const auto x =
        run(key, velocity, to_frames(Seconds(2.1), rate_), [](Frames) { return Cents(0); });
    float peak = 0.0F;
    for (float v : x)
        peak = std::max(peak, std::abs(v));
    std::size_t speaks = 0;
    while (speaks + 1 < x.size() && std::abs(x[speaks]) < 0.1F * peak)
        ++speaks;
    PlainTone tone;
    tone.delay = to_seconds(Frames(static_cast<std::int64_t>(speaks)), rate_);
    tone.level = loudest(x, rate_);
    const auto low = low_partials(x, rate_, frequency(Pitch(key)));
    tone.drift = measure_drift(std::span(low).subspan(speaks), rate_, key);
    return known_.emplace(place, std::move(tone)).first->second;
}

Sounded SampledVoice::play(MidiKey key, int velocity, Seconds length,
                           const std::function<Pitch(Seconds)>& line) {
    const PlainTone& tone = plain_tone(key, velocity);
    const Cents off = tone.pitch_at(Seconds(0.15));
    Sounded s;
    s.pluck = to_frames(tone.delay, rate_);
    s.plain_level = tone.level;
    // A tone played higher runs through its sample faster, and so through its drift.
    double sample_time = -tone.delay.value();
    const double step = static_cast<double>(pitch_block) / rate_.value();
    s.samples = run(key, velocity, to_frames(tone.delay + length, rate_), [&](Frames at) {
        const Seconds since = std::max(Seconds(0), to_seconds(at - s.pluck, rate_));
        const Cents wanted(std::round((line(since) - Pitch(key) - off).value()));
        sample_time += step * std::exp2(wanted.value() / 1200.0);
        s.pitch.push_back(Pitch(key) + wanted + tone.pitch_at(Seconds(sample_time)));
        return wanted;
    });
    return s;
}

}  // namespace bentline::corpus
