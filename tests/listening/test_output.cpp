// output: the limiter's true peak, the focus filter, the resampler, attacks found to the frame.
#include <algorithm>
#include <array>
#include <cmath>
#include <memory>
#include <vector>

#include <doctest/doctest.h>
#include <ebur128.h>

#include "engine/listening/attacks.h"
#include "engine/listening/focus_filter.h"
#include "engine/listening/limiter.h"
#include "engine/listening/recording_line.h"
#include "engine/listening/stretcher.h"
#include "tests/listening/signals.h"

using namespace bentline;
using namespace bentline::test;

namespace {

constexpr SampleRate cd{44100};

// True peak of both channels by libebur128 (ITU-R BS.1770-4, annex 2), dB.
double true_peak(const std::vector<float>& l, const std::vector<float>& r) {
    ebur128_state* e = ebur128_init(2, 44100, EBUR128_MODE_TRUE_PEAK);
    std::vector<float> both;
    for (std::size_t i = 0; i < l.size(); ++i) {
        both.push_back(l[i]);
        both.push_back(r[i]);
    }
    ebur128_add_frames_float(e, both.data(), l.size());
    double a = 0.0;
    double b = 0.0;
    ebur128_true_peak(e, 0, &a);
    ebur128_true_peak(e, 1, &b);
    ebur128_destroy(&e);
    return 20.0 * std::log10(std::max(a, b));
}

double rms_db(const std::vector<float>& x, std::size_t from) {
    double s = 1e-20;
    for (std::size_t i = from; i < x.size(); ++i)
        s += static_cast<double>(x[i]) * x[i];
    return 10.0 * std::log10(s / static_cast<double>(x.size() - from));
}

}  // namespace

TEST_CASE(
    "limiter: true peak stays within 0.3 dB of -1 dBTP, whatever comes [ITU-R BS.1770-4, annex "
    "2]") {
    // A quarter of the rate at 45 degrees: its samples lie 3 dB below its peak.
    std::vector<float> tone(44100);
    add_tone(tone, cd, 11025.0, 2.0, std::numbers::pi / 4);
    std::vector<float> hiss(44100);
    add_noise(hiss, 1.0, 31);
    std::vector<float> burst(44100);
    for (std::size_t i = 20000; i < 20040; ++i)
        burst[i] = i % 2 == 0 ? 4.0F : -3.0F;
    for (const auto& in : {tone, hiss, burst}) {
        Limiter limiter(cd);
        std::vector<float> l;
        std::vector<float> r;
        for (const float x : in) {
            const auto y = limiter.next({x, 0.5F * x});
            l.push_back(y[0]);
            r.push_back(y[1]);
        }
        CHECK(true_peak(l, r) < -0.7);
    }
}

TEST_CASE("limiter: below the ceiling the samples pass unchanged, delayed by what it says") {
    std::vector<float> in(5000);
    add_noise(in, 0.1, 32);
    Limiter limiter(cd);
    const auto delay = static_cast<std::size_t>(limiter.delay().value());
    for (std::size_t i = 0; i < in.size(); ++i) {
        const auto y = limiter.next({in[i], in[i]});
        if (i >= delay) REQUIRE(y[0] == in[i - delay]);
    }
    CHECK(limiter.gain() == 1.0);
}

TEST_CASE(
    "focus: a tone at its place passes, one across the stage and one out of the register do not") {
    // Constant-power law: place p is left cos, right sin of (p + 1) pi / 4.
    const auto level_of = [](double hz, double place, const Focus& focus) {
        Audio a = made(cd, 2, 44100);
        const double angle = (place + 1.0) * std::numbers::pi / 4.0;
        add_tone(a.channels[0], cd, hz, 0.2 * std::cos(angle));
        add_tone(a.channels[1], cd, hz, 0.2 * std::sin(angle));
        const double before = std::max(rms_db(a.channels[0], 8000), rms_db(a.channels[1], 8000));
        RecordingLine line(std::make_shared<const Audio>(std::move(a)));
        FocusFilter filter(cd, 2);
        filter.set(line);
        filter.switch_on(focus);
        std::vector<float> l(44100 - 4000);
        std::vector<float> r(44100 - 4000);
        for (std::size_t at = 0; at < l.size(); at += 100) {
            const std::array<float*, 2> out = {l.data() + at, r.data() + at};
            filter.read(Frames(static_cast<std::int64_t>(at)), 100, out);
        }
        return std::max(rms_db(l, 8000), rms_db(r, 8000)) - before;
    };
    const Focus left{Pitch(52), Pitch(76), -0.5, 0.4};
    CHECK(std::abs(level_of(330.0, -0.5, left)) < 0.1);
    CHECK(level_of(330.0, 0.5, left) < -40.0);
    CHECK(level_of(55.0, -0.5, left) < -40.0);    // A1, far below E3
    CHECK(level_of(8000.0, -0.5, left) < -40.0);  // over two octaves above E5
    CHECK(std::abs(level_of(330.0, 0.9, Focus{Pitch(52), Pitch(76), 0.0, 2.0})) <
          0.1);  // whole stage
}

TEST_CASE("focus: switched off, the line passes sample for sample") {
    Audio a = made(cd, 2, 20000);
    add_noise(a.channels[0], 0.1, 33);
    const auto audio = std::make_shared<const Audio>(std::move(a));
    RecordingLine line(audio);
    FocusFilter filter(cd, 2);
    filter.set(line);
    std::vector<float> l(20000);
    std::vector<float> r(20000);
    const std::array<float*, 2> out = {l.data(), r.data()};
    filter.read(Frames(0), l.size(), out);
    CHECK(l == audio->channels[0]);
}

TEST_CASE("resampling: a tone comes through at its pitch and level, its image below -80 dB") {
    // 0.01 dB and 0.01 c are far below what is heard; -80 dB lies below a quiet room.
    for (const int rate : {8000, 22050, 48000, 96000, 192000}) {
        Audio a = made(SampleRate(rate), 1, static_cast<std::size_t>(rate));
        add_tone(a.channels[0], SampleRate(rate), 1000.0, 0.5);
        RecordingLine line(std::make_shared<const Audio>(std::move(a)));
        Stretcher s(SampleRate(rate), 1, cd);
        s.start(Frames(0));
        std::vector<float> y(40000);
        const std::array<float*, 1> out = {y.data()};
        s.render(line, out, y.size());
        CAPTURE(rate);
        CHECK(std::abs(1200.0 * std::log2(measured_hz(y, cd, 1000.0, 4000, 36000) / 1000.0)) <
              0.01);
        // What is left after the best fit of the tone.
        double c = 0.0, d = 0.0, all = 0.0;
        const std::size_t from = 4410;
        const std::size_t to = from + 30 * 441;  // whole periods
        for (std::size_t i = from; i < to; ++i) {
            const double p = 2.0 * std::numbers::pi * 1000.0 * static_cast<double>(i) / 44100;
            c += y[i] * std::cos(p);
            d += y[i] * std::sin(p);
            all += static_cast<double>(y[i]) * y[i];
        }
        const double n = static_cast<double>(to - from);
        const double fit = (c * c + d * d) * 2.0 / n;
        CHECK(std::abs(10.0 * std::log10(all / n / 0.125)) < 0.01);
        CHECK(10.0 * std::log10(std::abs(all - fit) / all) < -80.0);
    }
}

TEST_CASE("attacks: clicks are found within 0.1 ms, steady and shaken tones hold none") {
    Audio a = made(cd, 1, 44100 * 2);
    add_tone(a.channels[0], cd, 220.0, 0.1);
    add_noise(a.channels[0], 3e-5, 34);  // -90 dBFS
    std::vector<std::int64_t> clicks;
    for (std::int64_t at = 6000; at < 80000; at += 5501) {
        clicks.push_back(at);
        for (std::int64_t i = 0; i < 300; ++i) {
            const double u = static_cast<double>(i) / 44100;
            a.channels[0][static_cast<std::size_t>(at + i)] += static_cast<float>(
                0.4 * std::exp(-u * 900) * std::cos(2 * std::numbers::pi * 2000 * u));
        }
    }
    Audio shaken = made(cd, 1, 44100 * 2);
    double phase = 0.0;
    for (float& x : shaken.channels[0]) {
        const double t = static_cast<double>(&x - shaken.channels[0].data()) / 44100;
        x = static_cast<float>(0.2 * std::sin(phase) + 0.1 * std::sin(2 * phase));
        phase += 2 * std::numbers::pi * 330 *
                 std::exp2(40.0 / 1200 * std::sin(2 * std::numbers::pi * 5.5 * t)) / 44100;
    }
    add_noise(shaken.channels[0], 3e-5, 35);
    const auto found = [](Audio audio) {
        RecordingLine line(std::make_shared<const Audio>(std::move(audio)));
        LineBuffer buffer(1, 16384);
        AttackFinder finder(cd);
        std::vector<std::int64_t> at;
        for (std::int64_t end = 500; end < 88000; end += 500) {
            buffer.fill(line, end);
            finder.look(buffer);
            const std::int64_t from =
                at.empty() ? 3000 : at.back() + 1;  // not the sound's own beginning
            if (const std::int64_t n = finder.next(from); n != AttackFinder::none) at.push_back(n);
        }
        return at;
    };
    const auto got = found(a);
    REQUIRE(got.size() == clicks.size());
    for (std::size_t i = 0; i < got.size(); ++i)
        CHECK(std::abs(got[i] - clicks[i]) <= 4);
    CHECK(found(shaken).empty());
}
