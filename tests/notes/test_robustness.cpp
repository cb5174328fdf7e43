// notes: properties that hold for any input, and inputs that hold no notes.
#include <cmath>
#include <limits>

#include <doctest/doctest.h>

#include "tests/notes/played.h"

using namespace bentline;
using namespace bentline::testing;

namespace {

// Sorted, not overlapping, inside the audio, every number finite, every reason said.
void check_sound(const std::vector<Note>& notes, const Audio& audio) {
    const double from = audio.start_time().value();
    const double to = from + audio.duration().value();
    double before = from;
    for (const Note& n : notes) {
        CHECK(n.onset.value() >= before);
        CHECK(n.offset > n.onset);
        CHECK(n.offset.value() <= to + 1e-9);
        before = n.offset.value();
        if (n.cents) CHECK(std::isfinite(n.cents->value()));
        if (n.level) CHECK(std::isfinite(n.level->value()));
        REQUIRE(n.confidence.has_value());
        CHECK(*n.confidence >= 0.0);
        CHECK(*n.confidence <= 1.0);
        CHECK_FALSE(n.reason.empty());
        for (const Inflection& i : n.inflections) {
            REQUIRE(i.confidence.has_value());
            CHECK(*i.confidence >= 0.0);
            CHECK(*i.confidence <= 1.0);
            CHECK_FALSE(i.reason.empty());
            if (const auto* b = std::get_if<Bend>(&i.what)) CHECK(std::isfinite(b->size.value()));
            if (const auto* v = std::get_if<Vibrato>(&i.what)) {
                CHECK(std::isfinite(v->rate.value()));
                CHECK(std::isfinite(v->depth.value()));
            }
        }
    }
}

// A curve that a careless tracker might make: random pitches, holes, values that are no numbers.
PitchCurve wild_curve(Seconds length, std::uint64_t seed) {
    Dice dice(seed);
    PitchCurve curve;
    curve.tuning = Cents(dice.between(-80.0, 80.0));
    while (curve.end() < length) {
        PitchPoint p;
        const double what = dice.unit();
        if (what < 0.7) p.f0 = frequency(Pitch(dice.between(40.0, 88.0)));
        if (what < 0.02) p.f0 = Hertz(0.0);
        if (what > 0.98) p.f0 = Hertz(std::numeric_limits<double>::quiet_NaN());
        p.confidence = dice.between(0.0, 1.0);
        p.level = Decibels(dice.between(-120.0, 0.0));
        curve.points.push_back(p);
    }
    return curve;
}

}  // namespace

TEST_CASE("notes: silence, nothing at all, and a curve without lead give no notes") {
    PitchCurve quiet;
    quiet.points.resize(200);
    const Audio silence = audio_of(std::vector<float>(44100, 0.0F), SampleRate(44100));
    CHECK(find_notes(silence, quiet, Focus{})->empty());
    CHECK(find_notes(silence, PitchCurve{}, Focus{})->empty());
    const Audio none = audio_of({}, SampleRate(44100));
    CHECK(find_notes(none, quiet, Focus{})->empty());
    CHECK(find_notes(none, wild_curve(1.0_s, 1), Focus{})->empty());
}

TEST_CASE("notes: whatever the curve says, notes are sorted, apart, inside and finite") {
    for (std::uint64_t seed = 1; seed <= 12; ++seed) {
        CAPTURE(seed);
        const SampleRate rate(seed % 3 == 0 ? 8000 : seed % 3 == 1 ? 44100 : 96000);
        Audio audio = audio_of(noise(Decibels(-20.0), 1.5_s, rate, seed), rate);
        if (seed % 2 == 0)
            audio.channels.push_back(noise(Decibels(-30.0), 1.5_s, rate, seed + 100));
        if (seed == 5) audio.channels[0][1000] = std::numeric_limits<float>::quiet_NaN();
        Focus focus;
        if (seed % 4 == 0) {
            focus.place = 0.6;
            focus.width = 0.4;
        }
        // The curve may end before or after the sound.
        const auto notes =
            find_notes(audio, wild_curve(Seconds(seed % 2 == 0 ? 1.0 : 2.0), seed), focus);
        REQUIRE(notes.ok());
        check_sound(*notes, audio);
    }
}

TEST_CASE("notes: very short sounds, from one sample up") {
    for (const std::size_t length : {1U, 2U, 7U, 100U, 441U, 2000U}) {
        CAPTURE(length);
        const Audio audio = audio_of(std::vector<float>(length, 0.1F), SampleRate(44100));
        PitchCurve curve = wild_curve(0.05_s, length);
        const auto notes = find_notes(audio, curve, Focus{});
        REQUIRE(notes.ok());
        check_sound(*notes, audio);
    }
}

TEST_CASE("notes: the same input gives the same notes") {
    Played p(2.0_s);
    p.strike(0.2, 62, 0.5).strike(0.7, 64, 0.6, [](double t) {
        return 100.0 * smoothly(t, 0.1, 0.3);
    });
    CHECK(p.notes() == p.notes());
    check_sound(p.notes(), p.audio());
    CHECK(p.notes().size() == 2);
}

TEST_CASE("notes: an excerpt's notes lie in recording time") {
    Played p(1.2_s);
    p.strike(0.3, 60, 0.5);
    Audio audio = p.audio();
    audio.start = Frames(44100 * 100);
    PitchCurve curve = p.curve();
    curve.start = audio.start_time();
    const auto notes = find_notes(audio, curve, Focus{});
    REQUIRE(notes.ok());
    REQUIRE(notes->size() == 1);
    CHECK(std::abs(notes->front().onset.value() - 100.3) < 0.01);
}

TEST_CASE("notes: work stops when asked, and progress never falls") {
    Played p(4.0_s);
    for (int i = 0; i < 8; ++i)
        p.strike(0.2 + 0.4 * i, 60 + i, 0.38);
    const Audio audio = p.audio();
    const PitchCurve curve = p.curve();
    for (const double stop_at : {0.0, 0.2, 0.6, 0.9}) {
        std::stop_source source;
        Work work;
        work.stop = source.get_token();
        work.progress = [&](double share) {
            if (share >= stop_at) source.request_stop();
        };
        const auto notes = find_notes(audio, curve, Focus{}, {}, work);
        REQUIRE_FALSE(notes.ok());
        CHECK(notes.failure().kind == FailureKind::stopped);
    }
    double last = -1.0;
    bool falls = false;
    Work work;
    work.progress = [&](double share) {
        falls = falls || share < last || share > 1.0;
        last = share;
    };
    CHECK(find_notes(audio, curve, Focus{}, {}, work).ok());
    CHECK_FALSE(falls);
    CHECK(last == doctest::Approx(1.0));
}
