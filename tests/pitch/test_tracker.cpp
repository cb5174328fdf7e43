// pitch: the tracker on sounds whose pitch is known by construction.
#include <cmath>

#include <doctest/doctest.h>

#include "engine/pitch/tracker.h"
#include "tests/pitch/signals.h"

using namespace bentline;

namespace {

PitchCurve tracked(const Audio& audio, const Focus& focus = {}) {
    auto r = track_pitch(audio, focus);
    REQUIRE(r);
    return std::move(r).value();
}

// Share of the points from `from` to `to` that are voiced, and their worst distance from f0(t).
struct Fit {
    double voiced = 0.0;
    double worst_cents = 0.0;
};
Fit fit(const PitchCurve& c, double from, double to, const std::function<double(double)>& f0) {
    Fit out;
    int n = 0;
    int v = 0;
    for (std::size_t i = 0; i < c.points.size(); ++i) {
        const double t = c.time_of(i).value();
        if (t < from || t >= to) continue;
        ++n;
        if (!c.points[i].f0) continue;
        ++v;
        out.worst_cents =
            std::max(out.worst_cents, std::abs(interval(Hertz(f0(t)), *c.points[i].f0).value()));
    }
    out.voiced = n > 0 ? static_cast<double>(v) / n : 0.0;
    return out;
}

double voiced_share(const PitchCurve& c) {
    if (c.points.empty()) return 0.0;
    double v = 0.0;
    for (const PitchPoint& p : c.points)
        v += p.f0 ? 1.0 : 0.0;
    return v / static_cast<double>(c.points.size());
}

}  // namespace

TEST_CASE(
    "pitch: steady harmonic tones E2 to E6 within the stated bound, at every usual rate [ISO 16]") {
    for (const int rate : {16000, 22050, 44100, 48000, 96000, 192000}) {
        for (const double midi : {40.0, 52.0, 64.0, 76.0, 88.0}) {
            const double f = frequency(Pitch(midi)).value();
            const auto f0 = [&](double) { return f; };
            const auto c = tracked(test::mono(test::tone(0.5, rate, f0, test::harmonic(10)), rate));
            const Fit r = fit(c, 0.05, 0.45, f0);
            CAPTURE(rate);
            CAPTURE(midi);
            CHECK(r.voiced == 1.0);
            CHECK(r.worst_cents < steady_tone_accuracy.value());
        }
    }
}

TEST_CASE("pitch: sines, and 8 kHz recordings") {
    for (const int rate : {8000, 44100}) {
        for (const double midi : {45.0, 57.0, 69.0, 81.0}) {
            const double f = frequency(Pitch(midi)).value();
            const auto f0 = [&](double) { return f; };
            const auto c = tracked(test::mono(test::tone(0.4, rate, f0, {{1.0, 0.3}}), rate));
            const Fit r = fit(c, 0.05, 0.35, f0);
            CAPTURE(rate);
            CAPTURE(midi);
            CHECK(r.voiced == 1.0);
            // At 8 kHz the filters' edges lie close to the top harmonics: twice the bound.
            CHECK(r.worst_cents < 2.0 * steady_tone_accuracy.value());
        }
    }
}

TEST_CASE("pitch: a missing fundamental is heard all the same") {
    const auto f0 = [](double) { return 146.8324; };
    const auto c = tracked(test::mono(
        test::tone(0.5, 44100, f0, {{2, 0.2}, {3, 0.2}, {4, 0.15}, {5, 0.1}, {6, 0.1}}), 44100));
    const Fit r = fit(c, 0.05, 0.45, f0);
    CHECK(r.voiced == 1.0);
    CHECK(r.worst_cents < 2.0);
}

// A stiff string's partial k lies at k f sqrt(1 + B k^2) (Fletcher & Rossing, "The Physics of
// Musical Instruments", section 2.18); B of 2e-4 is that of a wound guitar string (from memory).
// Its first five partials lie 1.9 cents above f on average (865.6 B k^2), its twentieth 67.
TEST_CASE("pitch: a stiff string among other sounds is heard where its lower partials lie") {
    constexpr double stiffness = 2e-4;
    constexpr double ear = 1.9;  // cents
    constexpr int rate = 44100;
    for (const double f : {146.83, 220.0, 311.13}) {
        std::vector<test::Partial> partials;
        for (int k = 1; k <= 20; ++k)
            partials.push_back({k * std::sqrt(1.0 + stiffness * k * k), 0.3 / k});
        auto x = test::tone(
            0.8, rate, [&](double) { return f; }, partials);
        // A bass and a chord tone far from the string's harmonics, both softer.
        for (const double other : {61.7, f * 1.4142}) {
            const auto y =
                test::tone(0.8, rate, [&](double) { return other; },
                           {{1.0, 0.08}, {2.0, 0.05}, {3.0, 0.03}, {4.0, 0.02}, {5.0, 0.02}});
            for (std::size_t i = 0; i < x.size(); ++i)
                x[i] += y[i];
        }
        const auto c = tracked(test::mono(std::move(x), rate));
        const double heard = f * std::exp2(ear / 1200.0);
        const Fit r = fit(c, 0.1, 0.7, [&](double) { return heard; });
        CAPTURE(f);
        CHECK(r.voiced == 1.0);
        CHECK(r.worst_cents < accompanied_tone_accuracy.value());
    }
}

TEST_CASE("pitch: vibrato of 7.5 Hz by 60 cents keeps its depth") {
    for (const double centre : {196.0, 440.0, 880.0}) {
        const auto f0 = [&](double t) {
            return centre * std::exp2(60.0 / 1200.0 * std::sin(2.0 * std::numbers::pi * 7.5 * t));
        };
        const auto c = tracked(test::mono(test::tone(1.0, 44100, f0, test::harmonic(8)), 44100));
        double top = -100.0;
        double bottom = 100.0;
        for (std::size_t i = 20; i + 20 < c.points.size(); ++i) {
            REQUIRE(c.points[i].f0);
            const double cents = interval(Hertz(centre), *c.points[i].f0).value();
            top = std::max(top, cents);
            bottom = std::min(bottom, cents);
        }
        CAPTURE(centre);
        const double depth = 0.5 * (top - bottom);
        CHECK(depth > 60.0 - vibrato_depth_loss.value());
        CHECK(depth < 60.0 + vibrato_depth_loss.value());
    }
}

TEST_CASE("pitch: a glide of five semitones in 60 ms is followed within half a semitone") {
    const auto f0 = [](double t) {
        const double x = std::min(1.0, std::max(0.0, (t - 0.2) / 0.06));
        return 330.0 * std::exp2(500.0 * x / 1200.0);
    };
    const auto c = tracked(test::mono(test::tone(0.5, 44100, f0, test::harmonic(8)), 44100));
    const Fit r = fit(c, 0.05, 0.45, f0);
    CHECK(r.voiced == 1.0);
    CHECK(r.worst_cents < 50.0);
}

TEST_CASE("pitch: notes of 35 ms are told apart") {
    const std::vector<double> keys{64, 67, 71, 74, 76, 79, 83};
    const auto f0 = [&](double t) {
        const auto k =
            std::min(keys.size() - 1, static_cast<std::size_t>(std::max(0.0, t - 0.1) / 0.035));
        return frequency(Pitch(keys[k])).value();
    };
    const auto c = tracked(test::mono(test::tone(0.5, 44100, f0, test::harmonic(6)), 44100));
    for (std::size_t k = 1; k + 1 < keys.size(); ++k) {
        const double middle = 0.1 + 0.035 * (static_cast<double>(k) + 0.5);
        const auto i = static_cast<std::size_t>(std::lround(middle / 0.005));
        REQUIRE(c.points[i].f0);
        CHECK(std::abs((pitch_of(*c.points[i].f0) - Pitch(keys[k])).value()) < 20.0);
    }
}

TEST_CASE("pitch: noise and silence have no lead") {
    CHECK(voiced_share(tracked(test::mono(std::vector<float>(44100, 0.0F), 44100))) == 0.0);
    // Two frames in a hundred: noise is periodic by chance now and then.
    CHECK(voiced_share(tracked(test::mono(test::noise(88200, 0.3F), 44100))) < 0.02);
}

TEST_CASE("pitch: the register's limits are hard, and an octave is not folded in") {
    Focus focus;
    focus.lowest = Pitch(52.0);
    focus.highest = Pitch(76.0);
    for (const double midi : {43.0, 45.5, 80.0, 86.0, 88.0}) {
        const double f = frequency(Pitch(midi)).value();
        const auto c =
            tracked(test::mono(test::tone(
                                   0.5, 44100, [&](double) { return f; }, test::harmonic(8)),
                               44100),
                    focus);
        CAPTURE(midi);
        for (const PitchPoint& p : c.points) {
            if (!p.f0) continue;
            CHECK(pitch_of(*p.f0) >= focus.lowest - register_margin);
            CHECK(pitch_of(*p.f0) <= focus.highest + register_margin);
        }
        CHECK(voiced_share(c) < 0.1);  // edges of the tone may show something short
    }
}

TEST_CASE("pitch: a narrow stage follows the side it points at") {
    const auto left = test::tone(
        0.5, 44100, [](double) { return 220.0; }, test::harmonic(8));
    const auto right = test::tone(
        0.5, 44100, [](double) { return 349.228; }, test::harmonic(8));
    for (const double place : {-1.0, 1.0}) {
        Focus focus;
        focus.place = place;
        focus.width = 0.2;
        const auto c = tracked(test::stereo(left, right, 44100), focus);
        const Fit r = fit(c, 0.05, 0.45, [&](double) { return place < 0.0 ? 220.0 : 349.228; });
        CHECK(r.voiced > 0.95);
        CHECK(r.worst_cents < 20.0);
    }
}

TEST_CASE("pitch: nothing, one sample and less than a window are answered") {
    CHECK(tracked(test::mono({}, 44100)).points.empty());
    CHECK(tracked(Audio{SampleRate(44100), Frames(0), {}}).points.empty());
    CHECK(tracked(test::mono({0.5F}, 44100)).points.size() == 1);
    const auto c = tracked(test::mono(test::noise(300, 0.5F), 44100));
    CHECK(c.points.size() == 2);
    for (const PitchPoint& p : c.points) {
        CHECK(std::isfinite(p.confidence));
        CHECK(std::isfinite(p.level.value()));
    }
}

TEST_CASE("pitch: every value is a number, levels are as stated, confidence is a share") {
    auto x = test::tone(0.6, 44100, [](double) { return 440.0; }, {{1.0, 1.0}});
    for (std::size_t i = 0; i < 8820; ++i)
        x[i] = 0.0F;
    const auto c = tracked(test::mono(x, 44100));
    for (const PitchPoint& p : c.points) {
        CHECK(p.confidence >= 0.0);
        CHECK(p.confidence <= 1.0);
        CHECK(p.level.value() >= -120.0);
    }
    CHECK(c.points[10].level.value() == -120.0);
    // RMS of a sine of amplitude 1 is 1/sqrt(2): -3.01 dB; 10 ms hold 4.4 periods, so +-0.3 dB.
    CHECK(c.points[80].level.value() == doctest::Approx(-3.01).epsilon(0.1));
}

TEST_CASE("pitch: the line starts where the excerpt does") {
    Audio a = test::mono(test::tone(
                             0.3, 44100, [](double) { return 440.0; }, test::harmonic(5)),
                         44100);
    a.start = Frames(88200);
    const auto c = tracked(a);
    CHECK(c.start.value() == doctest::Approx(2.0));
    CHECK(c.points.size() == 60);
}

TEST_CASE("pitch: stops when told, repeats itself exactly, and says what it cannot do") {
    const Audio a = test::mono(test::tone(
                                   0.5, 44100, [](double) { return 330.0; }, test::harmonic(5)),
                               44100);
    std::stop_source stop;
    stop.request_stop();
    const auto r = track_pitch(a, {}, {}, Work{{}, stop.get_token()});
    REQUIRE_FALSE(r);
    CHECK(r.failure().kind == FailureKind::stopped);

    const auto one = tracked(a);
    const auto two = tracked(a);
    REQUIRE(one.points.size() == two.points.size());
    for (std::size_t i = 0; i < one.points.size(); ++i) {
        CHECK(one.points[i].f0 == two.points[i].f0);
        CHECK(one.points[i].confidence == two.points[i].confidence);
    }

    Focus upside_down;
    upside_down.lowest = Pitch(80.0);
    upside_down.highest = Pitch(60.0);
    const auto bad = track_pitch(a, upside_down);
    REQUIRE_FALSE(bad);
    CHECK(bad.failure().kind == FailureKind::out_of_range);
}
