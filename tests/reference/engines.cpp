// Calls of the four engines.
#include "tests/reference/engines.h"

#include <algorithm>
#include <cmath>

#include <SoundTouch.h>
#include <rubberband/RubberBandStretcher.h>

#include "engine/listening/stretcher.h"

namespace bentline::reference {

std::string name(Engine e) {
    switch (e) {
        case Engine::own:
            return "Bentline";
        case Engine::rubberband_r2:
            return "Rubber Band R2";
        case Engine::rubberband_r3:
            return "Rubber Band R3";
        case Engine::soundtouch:
            return "SoundTouch";
    }
    return {};
}

namespace {

std::vector<Signal> slow_own(const std::vector<Signal>& in, double speed) {
    Audio audio{SampleRate(rate), Frames(0), in};
    return slow_down(audio, speed, Cents(0)).value().channels;
}

std::vector<Signal> slow_rubberband(const std::vector<Signal>& in, double speed, int engine) {
    using RubberBand::RubberBandStretcher;
    RubberBandStretcher s(static_cast<std::size_t>(rate), in.size(),
                          engine | RubberBandStretcher::OptionThreadingNever, 1.0 / speed, 1.0);
    const std::size_t n = in[0].size();
    s.setExpectedInputDuration(n);
    std::vector<Signal> out(in.size());
    const auto pointers = [&](std::size_t at) {
        std::vector<const float*> p;
        for (const Signal& c : in)
            p.push_back(c.data() + at);
        return p;
    };
    constexpr std::size_t block = 1024;
    for (std::size_t at = 0; at < n; at += block) {
        s.study(pointers(at).data(), std::min(block, n - at), at + block >= n);
    }
    const auto take = [&] {
        for (int ready = s.available(); ready > 0; ready = s.available()) {
            const std::size_t had = out[0].size();
            std::vector<float*> p;
            for (Signal& c : out) {
                c.resize(had + static_cast<std::size_t>(ready));
                p.push_back(c.data() + had);
            }
            const std::size_t got = s.retrieve(p.data(), static_cast<std::size_t>(ready));
            for (Signal& c : out)
                c.resize(had + got);
        }
    };
    for (std::size_t at = 0; at < n; at += block) {
        s.process(pointers(at).data(), std::min(block, n - at), at + block >= n);
        take();
    }
    take();
    return out;
}

std::vector<Signal> slow_soundtouch(const std::vector<Signal>& in, double speed) {
    soundtouch::SoundTouch s;
    s.setSampleRate(rate);
    s.setChannels(static_cast<unsigned>(in.size()));
    s.setTempo(speed);
    const std::size_t channels = in.size();
    const std::size_t n = in[0].size();
    std::vector<Signal> out(channels);
    std::vector<float> both;
    const auto take = [&] {
        std::vector<float> got(4096 * channels);
        for (unsigned k = s.receiveSamples(got.data(), 4096); k > 0;
             k = s.receiveSamples(got.data(), 4096)) {
            for (std::size_t i = 0; i < k; ++i) {
                for (std::size_t c = 0; c < channels; ++c)
                    out[c].push_back(got[i * channels + c]);
            }
        }
    };
    for (std::size_t at = 0; at < n; at += 1024) {
        const std::size_t k = std::min<std::size_t>(1024, n - at);
        both.resize(k * channels);
        for (std::size_t i = 0; i < k; ++i) {
            for (std::size_t c = 0; c < channels; ++c)
                both[i * channels + c] = in[c][at + i];
        }
        s.putSamples(both.data(), static_cast<unsigned>(k));
        take();
    }
    s.flush();
    take();
    return out;
}

}  // namespace

std::vector<Signal> slow(Engine e, const std::vector<Signal>& in, double speed,
                         std::size_t* given) {
    std::vector<Signal> out;
    switch (e) {
        case Engine::own:
            out = slow_own(in, speed);
            break;
        case Engine::rubberband_r2:
            out = slow_rubberband(in, speed, RubberBand::RubberBandStretcher::OptionEngineFaster);
            break;
        case Engine::rubberband_r3:
            out = slow_rubberband(in, speed, RubberBand::RubberBandStretcher::OptionEngineFiner);
            break;
        case Engine::soundtouch:
            out = slow_soundtouch(in, speed);
            break;
    }
    if (given != nullptr) *given = out[0].size();
    const auto wanted =
        static_cast<std::size_t>(std::llround(static_cast<double>(in[0].size()) / speed));
    for (Signal& c : out)
        c.resize(wanted, 0.0F);
    return out;
}

Signal slow(Engine e, const Signal& in, double speed) {
    return slow(e, std::vector<Signal>{in}, speed)[0];
}

}  // namespace bentline::reference
