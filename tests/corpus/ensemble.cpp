// Plays a band's parts through FluidSynth, each on its own so that its loudness and place can be
// set.
#include <algorithm>
#include <cmath>
#include <memory>
#include <numbers>

#include <fluidsynth.h>

#include "tests/corpus/accompaniment.h"
#include "tests/corpus/sampled_voice.h"
#include "tests/support/tones.h"

namespace bentline::corpus {

namespace {

struct Event {
    std::int64_t frame;
    int key;
    int velocity;  // 0: note off
};

using Settings = std::unique_ptr<fluid_settings_t, decltype(&delete_fluid_settings)>;
using Synth = std::unique_ptr<fluid_synth_t, decltype(&delete_fluid_synth)>;

Settings dry_settings(SampleRate rate) {
    Settings s(new_fluid_settings(), &delete_fluid_settings);
    fluid_settings_setnum(s.get(), "synth.sample-rate", rate.value());
    fluid_settings_setint(s.get(), "synth.reverb.active", 0);
    fluid_settings_setint(s.get(), "synth.chorus.active", 0);
    fluid_settings_setint(s.get(), "synth.dynamic-sample-loading", 1);
    return s;
}

std::vector<Event> events_of(const BandPart& part, SampleRate rate) {
    std::vector<Event> events;
    for (const BandNote& n : part.notes) {
        events.push_back({to_frames(n.at, rate).value(), n.key, n.velocity});
        events.push_back({to_frames(n.at + n.length, rate).value(), n.key, 0});
    }
    // Offs before ons of the same block, or a repeated key would be cut.
    std::stable_sort(events.begin(), events.end(), [](const Event& a, const Event& b) {
        const auto block_a = a.frame / pitch_block;
        const auto block_b = b.frame / pitch_block;
        return block_a != block_b ? block_a < block_b : a.velocity == 0 && b.velocity != 0;
    });
    return events;
}

std::vector<float> play_part(fluid_synth_t* synth, int font, const BandPart& part,
                             std::size_t frames, SampleRate rate) {
    const int channel = part.drums ? 9 : 0;
    fluid_synth_program_select(synth, channel, font, part.drums ? 128 : 0, part.program);
    const auto events = events_of(part, rate);
    std::vector<float> out;
    out.reserve(frames + pitch_block);
    std::vector<float> left(pitch_block);
    std::vector<float> right(pitch_block);
    std::size_t next = 0;
    while (out.size() < frames) {
        const auto until = static_cast<std::int64_t>(out.size()) + pitch_block;
        for (; next < events.size() && events[next].frame < until; ++next) {
            const Event& e = events[next];
            if (e.velocity > 0)
                fluid_synth_noteon(synth, channel, e.key, e.velocity);
            else
                fluid_synth_noteoff(synth, channel, e.key);
        }
        fluid_synth_write_float(synth, pitch_block, left.data(), 0, 1, right.data(), 0, 1);
        for (std::size_t i = 0; i < left.size(); ++i)
            out.push_back(0.5F * (left[i] + right[i]));
    }
    out.resize(frames);
    return out;
}

double rms(const std::vector<float>& x) {
    double power = 1e-20;
    for (float v : x)
        power += static_cast<double>(v) * v;
    return std::sqrt(power / static_cast<double>(x.size()));
}

}  // namespace

Result<Stereo> play_parts(const std::vector<BandPart>& parts, const std::string& font,
                          Seconds length, SampleRate rate) {
    const std::size_t frames = testing::sample_count(length, rate);
    Stereo sum{std::vector<float>(frames, 0.0F), std::vector<float>(frames, 0.0F)};
    for (const BandPart& part : parts) {
        const Settings settings = dry_settings(rate);
        const Synth synth(new_fluid_synth(settings.get()), &delete_fluid_synth);
        const int id = fluid_synth_sfload(synth.get(), font.c_str(), 0);
        if (id == FLUID_FAILED) {
            return Failure{
                FailureKind::not_found,
                "cannot load the soundfont " + font + ": run third_party/install.sh test",
                {font, {}, {}}};
        }
        const auto mono = play_part(synth.get(), id, part, frames, rate);
        const double gain = 0.05 * amplitude(part.level) / rms(mono);
        const double angle = (part.place + 1.0) * std::numbers::pi / 4.0;
        const auto to_left = static_cast<float>(gain * std::cos(angle));
        const auto to_right = static_cast<float>(gain * std::sin(angle));
        for (std::size_t i = 0; i < frames; ++i) {
            sum.left[i] += to_left * mono[i];
            sum.right[i] += to_right * mono[i];
        }
    }
    return sum;
}

}  // namespace bentline::corpus
