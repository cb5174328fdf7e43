// corpus: what stands between the band and the file does to sound and truth what it says.
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <span>
#include <vector>

#include <doctest/doctest.h>

#include "tests/corpus/collection.h"
#include "tests/corpus/repetition.h"
#include "tests/corpus/room.h"
#include "tests/support/tones.h"

using namespace bentline;
using namespace bentline::corpus;

namespace {

constexpr SampleRate rate{44100};

Truth one_note(Hertz f, Seconds onset, Seconds offset, Seconds length) {
    Truth t;
    t.rows.assign(static_cast<std::size_t>(length / row_step) + 1, f);
    Note n;
    n.onset = onset;
    n.offset = offset;
    n.key = nearest_key(pitch_of(f));
    t.notes.push_back(n);
    return t;
}

double level(const std::vector<float>& x, double from, double to) {
    double power = 1e-20;
    const auto a = static_cast<std::size_t>(from * rate.value());
    const auto b = static_cast<std::size_t>(to * rate.value());
    for (std::size_t i = a; i < b; ++i)
        power += static_cast<double>(x[i]) * x[i];
    return 10.0 * std::log10(power / static_cast<double>(b - a));
}

}  // namespace

TEST_CASE("corpus: a tape moves sound and truth together, within 0.3 cent") {
    const auto x = testing::plucked(220.0_Hz, 3.0_s, rate);
    Stereo sound{x, x};
    Truth truth = one_note(220.0_Hz, 1.0_s, 2.0_s, 3.0_s);
    run_tape({Cents(30), Cents(6), 1.0_Hz, 0.4}, sound, truth, rate);
    CHECK(truth.tuning == Cents(30));
    for (double t : {0.3, 0.55, 0.8, 1.05, 1.3, 1.55}) {
        const auto row = truth.rows[static_cast<std::size_t>(std::lround(t * 100))];
        REQUIRE(row);
        const auto from = static_cast<std::size_t>((t - 0.03) * rate.value());
        const auto f = repetition_rate(std::span(sound.left).subspan(from, 2646), rate, *row);
        REQUIRE(f);
        CHECK(std::abs(interval(*row, *f).value()) < 0.3);
        // Between 24 and 36 cents sharp.
        CHECK(std::abs(interval(220.0_Hz, *row).value() - 30.0) <= 6.01);
    }
}

TEST_CASE("corpus: a tape moves a click to where the truth says, within one sample") {
    std::vector<float> x(testing::sample_count(2.5_s, rate), 0.0F);
    x[44100] = 1.0F;
    Stereo sound{x, x};
    Truth truth = one_note(220.0_Hz, 1.0_s, 2.0_s, 2.5_s);
    run_tape({Cents(-40), Cents(5), 0.7_Hz, 1.0}, sound, truth, rate);
    const auto peak = std::max_element(sound.left.begin(), sound.left.end()) - sound.left.begin();
    CHECK(std::abs(static_cast<double>(peak) / rate.value() - truth.notes[0].onset.value()) <
          1.0 / rate.value());
    CHECK(truth.notes[0].onset > 1.015_s);  // 2^(35/1200) = 1.0204 at least slower, but for the wow
}

TEST_CASE("corpus: a tape that stands still changes nothing") {
    const auto x = testing::sine(440.0_Hz, 0.2_s, rate);
    Stereo sound{x, x};
    Truth truth = one_note(440.0_Hz, 0.0_s, 0.1_s, 0.2_s);
    const auto notes = truth.notes;
    run_tape({}, sound, truth, rate);
    CHECK(sound.left == x);
    CHECK(truth.notes == notes);
}

TEST_CASE(
    "corpus: a room's tail falls by 30 dB in half its time [definition of reverberation time]") {
    testing::Dice dice(4);
    const RoomAnswer room = draw_room(dice, 0.8_s, rate);
    // From 100 ms on, past the early reflections. The tail also grows duller: 2 dB, and 1 dB of
    // chance.
    const double fall = level(room.left, 0.1, 0.15) - level(room.left, 0.5, 0.55);
    CHECK(fall == doctest::Approx(30.0).epsilon(0.12));
    CHECK(room.left != room.right);
}

TEST_CASE("corpus: the room is as loud as asked") {
    testing::Dice dice(5);
    const RoomAnswer room = draw_room(dice, 0.5_s, rate);
    const auto x = testing::noise(-20.0_dB, 2.0_s, rate, 9);
    Stereo sound{x, x};
    add_room(sound, room, -12.0_dB);
    std::vector<float> tail(x.size());
    for (std::size_t i = 0; i < x.size(); ++i)
        tail[i] = sound.left[i] - x[i];
    CHECK(level(tail, 0.8, 1.9) == doctest::Approx(-32.0).epsilon(0.03));
}

TEST_CASE("corpus: band limits take 3 dB at their corners [Butterworth]") {
    for (double corner : {100.0, 5000.0}) {
        const auto x = testing::sine(Hertz(corner), 0.5_s, rate);
        Stereo sound{x, x};
        limit_band(sound, 100.0_Hz, 5000.0_Hz, rate);
        CHECK(level(sound.left, 0.2, 0.4) - level(x, 0.2, 0.4) ==
              doctest::Approx(-3.0).epsilon(0.1));
    }
}

TEST_CASE("corpus: a softer lead leaves a louder band, and the truth stays") {
    if (const auto missing = missing_file(Seeds::development)) {
        MESSAGE("skipped: " << *missing);
        return;
    }
    SetChoice loud{Scene::band, Decibels(6.0), Seeds::development};
    SetChoice soft{Scene::band, Decibels(-3.0), Seeds::development};
    const auto a = Collection(loud).make(3);
    const auto b = Collection(soft).make(3);
    REQUIRE(a);
    REQUIRE(b);
    CHECK(a->audio.channels.size() == 2);
    REQUIRE(a->truth.notes.size() == b->truth.notes.size());
    for (std::size_t i = 0; i < a->truth.notes.size(); ++i) {
        CHECK(a->truth.notes[i].onset == b->truth.notes[i].onset);
        CHECK(a->truth.notes[i].key == b->truth.notes[i].key);
    }
    CHECK(a->truth.rows == b->truth.rows);
    CHECK(a->audio.channels[0] != b->audio.channels[0]);
}
