// corpus: recorded single notes that others named by their pitch (Debian's sonic-pi-samples, CC0).
// Only what a file's name states is asserted: a note C, an E that slides.
#include <algorithm>
#include <cmath>
#include <filesystem>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "engine/pitch/tracker.h"
#include "engine/recording/recording.h"

using namespace bentline;

namespace {

const std::filesystem::path folder = "/usr/share/sonic-pi/samples";

bool missing() {
    if (std::filesystem::exists(folder)) return false;
    MESSAGE("skipped: sonic-pi-samples is not installed (third_party/install.sh test)");
    return true;
}

PitchCurve line_of(const std::string& file, Pitch lowest) {
    auto recording = Recording::open(folder / file);
    REQUIRE(recording);
    const auto audio = recording->read_all();
    REQUIRE(audio);
    Focus focus;
    focus.lowest = lowest;
    auto curve = track_pitch(*audio, focus);
    REQUIRE(curve);
    return std::move(curve).value();
}

// Sounding pitches over [from, to), rising.
std::vector<double> pitches(const PitchCurve& curve, Seconds from, Seconds to) {
    std::vector<double> found;
    for (std::size_t i = 0; i < curve.points.size(); ++i) {
        const Seconds t = curve.time_of(i);
        if (from <= t && t < to && curve.points[i].f0)
            found.push_back(pitch_of(*curve.points[i].f0).value());
    }
    std::sort(found.begin(), found.end());
    return found;
}

// Distance in semitones from the nearest pitch of a class (C = 0).
double off_class(double pitch, int pitch_class) {
    return std::remainder(pitch - pitch_class, 12.0);
}

}  // namespace

TEST_CASE("corpus: notes named C are heard as a C [sonic-pi-samples]") {
    if (missing()) return;
    // Players' and samplers' tuning: 20 cents.
    for (const char* file : {"bass_thick_c.flac", "bass_voxy_c.flac", "bass_woodsy_c.flac"}) {
        const auto heard = pitches(line_of(file, Pitch(28.0)), Seconds(0), Seconds(10));
        REQUIRE(heard.size() > 20);
        CHECK_MESSAGE(std::abs(off_class(heard[heard.size() / 2], 0)) < 0.2, file);
    }
}

TEST_CASE("corpus: a guitar's E that slides is heard as an E, then elsewhere [sonic-pi-samples]") {
    if (missing()) return;
    const PitchCurve line = line_of("guit_e_slide.flac", Pitch(40.0));
    const auto before = pitches(line, Seconds(0.05), Seconds(0.2));
    REQUIRE(before.size() > 20);
    const double e = before[before.size() / 2];
    CHECK(std::abs(off_class(e, 4)) < 0.3);  // its own tuning is not stated
    const auto after = pitches(line, Seconds(0.2), Seconds(0.5));
    REQUIRE_FALSE(after.empty());
    CHECK(std::max(std::abs(after.front() - e), std::abs(after.back() - e)) > 1.5);
}
