// The formulas behind the test sounds.
#include "tests/reference/materials.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <functional>
#include <memory>
#include <numbers>
#include <stdexcept>

#include <fluidsynth.h>

#include "engine/transform/fft.h"
#include "tests/support/dice.h"

namespace bentline::reference {

namespace {

constexpr double turn = 2.0 * std::numbers::pi;
std::size_t frames(double seconds) {
    return static_cast<std::size_t>(std::llround(seconds * rate));
}

}  // namespace

void add_floor(Signal& x, unsigned seed) {
    testing::Dice dice(seed);
    const double rms = std::pow(10.0, -90.0 / 20.0);
    for (float& v : x)
        v += static_cast<float>(rms * dice.normal());
}

Tone steady_tone(double hz, int partials, double seconds) {
    Tone t;
    std::vector<double> x(frames(seconds), 0.0);
    for (int k = 1; k <= partials; ++k) {
        t.partials.push_back(hz * k);
        for (std::size_t i = 0; i < x.size(); ++i) {
            x[i] += 0.3 / k * std::sin(turn * hz * k * static_cast<double>(i) / rate + 0.7 * k * k);
        }
    }
    t.sound.assign(x.begin(), x.end());
    add_floor(t.sound, 1);
    return t;
}

Tone low_chord(double seconds) {
    Tone t;
    t.sound.assign(frames(seconds), 0.0F);
    int n = 0;
    for (const double midi : {40.0, 47.0, 52.0, 56.0}) {
        const double hz = 440.0 * std::exp2((midi - 69.0) / 12.0);
        for (int k = 1; k <= 6; ++k) {
            t.partials.push_back(hz * k);
            const double phase = 1.3 * n++;
            for (std::size_t i = 0; i < t.sound.size(); ++i) {
                t.sound[i] += static_cast<float>(
                    0.12 / k * std::sin(turn * hz * k * static_cast<double>(i) / rate + phase));
            }
        }
    }
    add_floor(t.sound, 2);
    return t;
}

Clicks clicks(bool over_chord) {
    Clicks c;
    testing::Dice dice(over_chord ? 5 : 4);
    double at = 0.4;
    while (c.at.size() < 100) {
        c.at.push_back(std::round(at * rate) / rate);
        at += dice.between(0.12, 0.4);
    }
    c.sound.assign(frames(at + 0.4), 0.0F);
    if (over_chord) {
        for (const double hz : {220.0, 277.18, 329.63}) {
            for (std::size_t i = 0; i < c.sound.size(); ++i) {
                c.sound[i] +=
                    static_cast<float>(0.05 * std::sin(turn * hz * static_cast<double>(i) / rate));
            }
        }
    }
    for (const double t : c.at) {
        const std::size_t from = frames(t);
        for (std::size_t i = 0; i < 882; ++i) {
            const double u = static_cast<double>(i) / rate;
            const double level = 0.3 * std::exp(-u * std::log(10.0) / 0.003);
            for (const double hz : {900.0, 2500.0, 6300.0}) {
                c.sound[from + i] += static_cast<float>(level * std::cos(turn * hz * u));
            }
        }
    }
    add_floor(c.sound, 3);
    return c;
}

Line plucked_line(double speed, bool own_decay) {
    // An invented line: steps and leaps between G3 and D5, notes of 0.18 to 0.5 s.
    constexpr std::array<double, 12> midi = {55, 60, 62, 63, 67, 65, 70, 72, 69, 74, 67, 60};
    constexpr std::array<double, 12> length = {.30, .25, .18, .18, .40, .25,
                                               .20, .50, .22, .30, .35, .50};
    Line line;
    double total = 0.25;
    for (const double l : length)
        total += l;
    std::vector<double> x(frames((total + 0.25) / speed), 0.0);
    double at = 0.25;
    for (std::size_t n = 0; n < midi.size(); ++n) {
        const double onset = at / speed;
        const double end = (at + length[n]) / speed;
        line.onsets.push_back(onset);
        const double hz = 440.0 * std::exp2((midi[n] - 69.0) / 12.0);
        for (int k = 1; k <= 14; ++k) {
            // Plucked at a fifth of the string; higher partials fall faster.
            const double amplitude = 0.35 / k * std::abs(std::sin(std::numbers::pi * k / 5.3));
            const double fall = 2.0 + 0.5 * k;
            const double phase = 0.4 * k;
            for (std::size_t i = frames(onset); i < std::min(x.size(), frames(end + 0.015)); ++i) {
                const double u = static_cast<double>(i) / rate - onset;
                double level = amplitude * std::exp(-fall * u * (own_decay ? 1.0 : speed));
                if (u < 0.003) level *= 0.5 - 0.5 * std::cos(std::numbers::pi * u / 0.003);
                const double past = static_cast<double>(i) / rate - end;
                if (past > 0.0)
                    level *= 0.5 + 0.5 * std::cos(std::numbers::pi * std::min(1.0, past / 0.015));
                x[i] += level * std::sin(turn * hz * k * u + phase);
            }
        }
        at += length[n];
    }
    line.sound.assign(x.begin(), x.end());
    add_floor(line.sound, 6);
    return line;
}

double motion_cents(Motion m, double t) {
    if (m == Motion::vibrato) return 35.0 * std::sin(turn * 5.5 * t);
    // Up a whole tone in 0.35 s, held, let down again.
    const auto rise = [](double u) {
        return 0.5 - 0.5 * std::cos(std::numbers::pi * std::clamp(u, 0.0, 1.0));
    };
    return 200.0 * (rise((t - 0.6) / 0.35) - rise((t - 1.5) / 0.35));
}

Moving moving_tone(Motion m) {
    Moving t{330.0, 2.5, {}};
    t.sound.assign(frames(t.seconds), 0.0F);
    double phase = 0.0;
    for (std::size_t i = 0; i < t.sound.size(); ++i) {
        for (int k = 1; k <= 4; ++k)
            t.sound[i] += static_cast<float>(0.25 / k * std::sin(k * phase));
        // Trapezoid on the instantaneous frequency.
        const double a = std::exp2(motion_cents(m, static_cast<double>(i) / rate) / 1200.0);
        const double b = std::exp2(motion_cents(m, static_cast<double>(i + 1) / rate) / 1200.0);
        phase = std::fmod(phase + turn * t.hz * 0.5 * (a + b) / rate, turn);
    }
    add_floor(t.sound, 7);
    return t;
}

namespace {

// White Gaussian noise whose spectrum is multiplied by gain(hz).
Signal shaped_noise(std::size_t count, unsigned seed, const std::function<double(double)>& gain) {
    testing::Dice dice(seed);
    std::size_t n = 2;
    while (n < count)
        n *= 2;
    Signal x(n);
    for (float& v : x)
        v = static_cast<float>(dice.normal());
    RealFft fft(n);
    std::vector<std::complex<float>> spectrum(fft.bins());
    fft.forward(x, spectrum);
    for (std::size_t k = 0; k < spectrum.size(); ++k) {
        spectrum[k] *=
            static_cast<float>(gain(static_cast<double>(k) * rate / static_cast<double>(n)));
    }
    fft.inverse(spectrum, x);
    x.resize(count);
    return x;
}

void set_level(Signal& x, double db) {
    double sum = 1e-30;
    for (const float v : x)
        sum += static_cast<double>(v) * v;
    const auto scale = static_cast<float>(std::pow(10.0, db / 20.0) /
                                          std::sqrt(sum / static_cast<double>(x.size())));
    for (float& v : x)
        v *= scale;
}

}  // namespace

Signal noise(Colour colour, double seconds, unsigned seed) {
    Signal x = shaped_noise(frames(seconds), seed, [&](double hz) {
        return colour == Colour::white ? 1.0 : 1.0 / std::sqrt(std::max(hz, 40.0));
    });
    set_level(x, -20.0);
    return x;
}

double cymbal_level_db(double t) {
    return -60.0 * t / 2.4;
}

Signal cymbal(double speed) {
    Signal x = shaped_noise(frames(2.3 / speed), 31, [](double hz) {
        return 1.0 / (1.0 + std::pow(2000.0 / std::max(hz, 1.0), 4.0));
    });
    set_level(x, -15.0);
    for (std::size_t i = 0; i < x.size(); ++i) {
        const double u = static_cast<double>(i) / rate - cymbal_onset / speed;
        const double rise = std::clamp(u / 0.002, 0.0, 1.0);
        x[i] *= static_cast<float>(
            u <= 0.0 ? 0.0 : rise * std::pow(10.0, cymbal_level_db(u * speed) / 20.0));
    }
    add_floor(x, 32);
    return x;
}

Line synth_phrase(double speed) {
    struct Free {
        void operator()(fluid_settings_t* s) const { delete_fluid_settings(s); }
        void operator()(fluid_synth_t* s) const { delete_fluid_synth(s); }
    };
    const std::unique_ptr<fluid_settings_t, Free> settings(new_fluid_settings());
    fluid_settings_setnum(settings.get(), "synth.sample-rate", rate);
    fluid_settings_setnum(settings.get(), "synth.gain", 0.6);
    fluid_settings_setint(settings.get(), "synth.reverb.active", 0);
    fluid_settings_setint(settings.get(), "synth.chorus.active", 0);
    const std::unique_ptr<fluid_synth_t, Free> synth(new_fluid_synth(settings.get()));
    if (fluid_synth_sfload(synth.get(), "/usr/share/sounds/sf2/FluidR3_GM.sf2", 1) ==
        FLUID_FAILED) {
        throw std::runtime_error("the soundfont fluid-soundfont-gm is not installed");
    }
    fluid_synth_program_change(synth.get(), 0, 26);  // General MIDI 27: jazz guitar
    constexpr std::array<int, 14> key = {58, 62, 65, 69, 67, 65, 63, 62, 60, 63, 67, 70, 69, 65};
    constexpr std::array<double, 14> length = {.22, .22, .22, .44, .22, .22, .22,
                                               .22, .66, .22, .22, .22, .44, .66};
    Line line;
    std::vector<float> right;
    const auto render = [&](double until) {
        const std::size_t n = frames(until);
        if (n <= line.sound.size()) return;
        const std::size_t from = line.sound.size();
        line.sound.resize(n);
        right.resize(n);
        fluid_synth_write_float(synth.get(), static_cast<int>(n - from), line.sound.data(),
                                static_cast<int>(from), 1, right.data(), static_cast<int>(from), 1);
    };
    double at = 0.3;
    for (std::size_t i = 0; i < key.size(); ++i) {
        render(at / speed);
        if (i > 0) fluid_synth_noteoff(synth.get(), 0, key[i - 1]);
        fluid_synth_noteon(synth.get(), 0, key[i], 96);
        line.onsets.push_back(at / speed);
        at += length[i];
    }
    render((at + 0.3) / speed);
    add_floor(line.sound, 8);
    return line;
}

}  // namespace bentline::reference
