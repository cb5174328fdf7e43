// pitch: an outside check. The general-purpose library aubio (its yinfft and yinfast trackers) and
// ours hear the same notes in clean single lines.
#include <cmath>
#include <vector>

#include <aubio/aubio.h>
#include <doctest/doctest.h>

#include "engine/pitch/tracker.h"
#include "tests/pitch/signals.h"

using namespace bentline;

namespace {

constexpr int rate = 44100;
constexpr uint_t window = 2048;
constexpr uint_t hop = 441;

// Pitch at the middle of each of aubio's windows; 0 where it hears none.
std::vector<double> aubio_line(const std::vector<float>& x, const char* method) {
    aubio_pitch_t* pitch = new_aubio_pitch(method, window, hop, rate);
    aubio_pitch_set_unit(pitch, "Hz");
    fvec_t* in = new_fvec(hop);
    fvec_t* out = new_fvec(1);
    std::vector<double> line;
    for (std::size_t at = 0; at + hop <= x.size(); at += hop) {
        for (uint_t i = 0; i < hop; ++i)
            in->data[i] = x[at + i];
        aubio_pitch_do(pitch, in, out);
        line.push_back(static_cast<double>(out->data[0]));
    }
    del_fvec(in);
    del_fvec(out);
    del_aubio_pitch(pitch);
    return line;
}

// Eight notes of half a second, plucked, over the guitar's register.
std::vector<float> line_of_notes() {
    std::vector<float> x;
    for (const double key : {45.0, 52.0, 57.0, 60.0, 64.0, 69.0, 72.0, 76.0}) {
        std::vector<test::Partial> partials;
        for (int k = 1; k <= 8; ++k)
            partials.push_back({static_cast<double>(k), 0.4 / k, 6.0 * k});
        const double f = frequency(Pitch(key)).value();
        const auto note = test::tone(
            0.5, rate, [&](double) { return f; }, partials);
        x.insert(x.end(), note.begin(), note.end());
    }
    return x;
}

}  // namespace

TEST_CASE("pitch: agrees with aubio's yinfft and yinfast on a clean plucked line") {
    const std::vector<float> x = line_of_notes();
    const auto ours = track_pitch(test::mono(x, rate), Focus{});
    REQUIRE(ours);
    for (const char* method : {"yinfft", "yinfast"}) {
        const std::vector<double> theirs = aubio_line(x, method);
        int both = 0;
        int agree = 0;
        for (std::size_t k = 0; k < theirs.size(); ++k) {
            // After hop k the window's middle lies here; aubio's window must lie within one note.
            const double t = (static_cast<double>(k + 1) * hop - window / 2.0) / rate;
            if (t < 0.0 || std::fmod(t, 0.5) < 0.05 || std::fmod(t, 0.5) > 0.45) continue;
            const auto i = static_cast<std::size_t>(std::lround(t / 0.005));
            if (i >= ours->points.size() || !ours->points[i].f0 || theirs[k] <= 0.0) continue;
            ++both;
            // 20 cents: yinfft's parabola through a 2048-point spectrum is that coarse low down.
            if (std::abs(interval(Hertz(theirs[k]), *ours->points[i].f0).value()) < 20.0) ++agree;
        }
        CAPTURE(method);
        CHECK(both > 250);  // of some 320 windows inside notes
        CHECK(agree >= 0.95 * both);
    }
}
