// Plays soundfont tones through FluidSynth's own interface, off line, dry.
#include "tests/corpus/sampled_voice.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <string>

#include <fluidsynth.h>

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

}  // namespace

SampledVoice::SampledVoice(std::unique_ptr<Synth> synth, SampleRate rate, Drift drift)
    : synth_(std::move(synth)), rate_(rate), drift_(drift) {}
SampledVoice::SampledVoice(SampledVoice&&) noexcept = default;
SampledVoice::~SampledVoice() = default;

Result<SampledVoice> SampledVoice::open(const std::filesystem::path& font, int program,
                                        SampleRate rate, Drift drift) {
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
    return SampledVoice(std::move(s), rate, drift);
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
    return known_.emplace(place, measure_plain_tone(x, rate_, key, drift_)).first->second;
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
