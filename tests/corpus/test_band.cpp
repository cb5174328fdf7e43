// corpus: in a band as loud as the lead, the tracker reaches its stated bounds, and the classical
// measures alone do not (six takes; the definitions are mir_eval's).
#include <cmath>

#include <doctest/doctest.h>

#include "engine/pitch/tracker.h"
#include "tests/corpus/collection.h"
#include "tests/corpus/metrics.h"

using namespace bentline;
using namespace bentline::corpus;

namespace {

PitchRows rows_of(const Audio& audio, bool network) {
    TrackerSettings settings;
    settings.network = network;
    const auto curve = track_pitch(audio, Focus{}, settings);
    REQUIRE(curve);
    PitchRows rows(static_cast<std::size_t>(audio.duration() / row_step) + 1);
    for (std::size_t i = 0; i < rows.size(); ++i) {
        const auto at =
            static_cast<std::size_t>(std::lround(row_step * static_cast<double>(i) / curve->hop));
        if (at < curve->points.size()) rows[i] = curve->points[at].f0;
    }
    return rows;
}

struct Means {
    double raw_pitch = 0.0;
    double false_alarm = 0.0;
    void add(const MelodyScore& m, int takes) {
        raw_pitch += m.raw_pitch_50 / takes;
        false_alarm += m.false_alarm / takes;
    }
};

}  // namespace

TEST_CASE("corpus: the lead in a band as loud as itself, with the network and without") {
    if (const auto missing = missing_file(Seeds::development)) {
        MESSAGE("skipped: " << *missing);
        return;
    }
    SetChoice choice;
    choice.scene = Scene::band;
    choice.lead_over_band = Decibels(0.0);
    Collection collection(choice);
    constexpr int takes = 6;
    Means with;
    Means without;
    for (int number = 0; number < takes; ++number) {
        const auto take = collection.make(number);
        REQUIRE(take);
        with.add(score_melody(take->truth.rows, rows_of(take->audio, true)), takes);
        without.add(score_melody(take->truth.rows, rows_of(take->audio, false)), takes);
    }
    MESSAGE("raw pitch " << with.raw_pitch << ", " << without.raw_pitch << " without; false alarm "
                         << with.false_alarm << ", " << without.false_alarm);
    CHECK(with.raw_pitch >= band_raw_pitch);
    CHECK(with.false_alarm <= band_false_alarm);
    CHECK(without.raw_pitch < band_raw_pitch);
    CHECK(without.false_alarm > band_false_alarm);
}
