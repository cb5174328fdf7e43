// hints: what the player knows binds the tracker and the notes.
#include <cmath>
#include <numbers>
#include <stop_token>

#include <doctest/doctest.h>

#include "engine/notes/beat_places.h"
#include "engine/notes/pencil.h"
#include "engine/pitch/tracker.h"
#include "tests/notes/played.h"

using namespace bentline;
using namespace bentline::testing;

namespace {

// Two strings at once: A4 loud, E4 softer by 8 dB, both for a second.
Audio two_strings() {
    std::vector<float> mono = floor_noise(1.6_s, SampleRate(44100));
    StringSound loud;
    loud.peak = 0.4;
    StringSound soft;
    soft.peak = 0.16;
    mix_in(mono, plucked(frequency(Pitch(69)), 1.0_s, SampleRate(44100), loud), 0.2_s,
           SampleRate(44100));
    mix_in(mono, plucked(frequency(Pitch(64)), 1.0_s, SampleRate(44100), soft), 0.2_s,
           SampleRate(44100));
    mono.resize(sample_count(1.6_s, SampleRate(44100)));
    return audio_of(std::move(mono), SampleRate(44100));
}

// Share of the line's points between two times that lie within 50 cents of a key.
double share_at(const PitchCurve& curve, MidiKey key, Seconds from, Seconds to) {
    double all = 0.0;
    double at = 0.0;
    for (std::size_t i = 0; i < curve.points.size(); ++i) {
        if (curve.time_of(i) < from || curve.time_of(i) >= to) continue;
        all += 1.0;
        const auto& f0 = curve.points[i].f0;
        if (f0 && std::abs((pitch_of(*f0) - Pitch(key)).value()) < 50.0) at += 1.0;
    }
    return at / all;
}

Note plain_note(double from, double to, int key) {
    Note n;
    n.onset = Seconds(from);
    n.offset = Seconds(to);
    n.key = MidiKey(key);
    return n;
}

Played eight_notes() {
    Played p(3.6_s);
    for (int i = 0; i < 8; ++i)
        p.strike(0.2 + 0.4 * i, 60 + (5 * i) % 12, 0.35);
    return p;
}

}  // namespace

TEST_CASE("hints: an inked note holds the line, though another string is louder") {
    const Audio audio = two_strings();
    const auto plain = track_pitch(audio, Focus{});
    REQUIRE(plain.ok());
    REQUIRE(share_at(*plain, MidiKey(69), 0.3_s, 1.1_s) > 0.5);
    Hints hints;
    hints.inked = {plain_note(0.2, 1.2, 64)};
    const auto held = track_pitch(audio, Focus{}, path_hints(hints));
    REQUIRE(held.ok());
    CHECK(share_at(*held, MidiKey(64), 0.3_s, 1.1_s) > 0.98);
}

TEST_CASE("hints: what is ruled out is not followed") {
    const Audio audio = two_strings();
    Hints hints;
    hints.not_these = {{{0.1_s, 1.4_s}, MidiKey(69)}};
    const auto line = track_pitch(audio, Focus{}, path_hints(hints));
    REQUIRE(line.ok());
    CHECK(share_at(*line, MidiKey(69), 0.2_s, 1.3_s) < 0.02);
    const auto pencilled = pencil_notes(audio, Focus{}, hints);
    REQUIRE(pencilled.ok());
    for (const Note& n : pencilled->notes)
        CHECK(n.key != MidiKey(69));
}

TEST_CASE("hints: inked notes come back bit for bit, and nothing lies over them") {
    const Played p = eight_notes();
    const Audio audio = p.audio();
    Hints hints;
    // One of them is not even what sounds: the player's word stands.
    Note odd = plain_note(1.013, 1.377, 71);
    odd.inflections = {{Vibrato{Hertz(5.25), Cents(17.0), {}}, {}, "as I hear it"}};
    odd.confidence = 0.123;
    hints.inked = {odd, plain_note(2.2, 2.55, 61)};
    const auto again = pencil_notes(audio, Focus{}, hints);
    REQUIRE(again.ok());
    for (const Note& inked : hints.inked) {
        CHECK(std::count(again->notes.begin(), again->notes.end(), inked) == 1);
    }
    for (std::size_t i = 1; i < again->notes.size(); ++i)
        CHECK(again->notes[i - 1].offset <= again->notes[i].onset);
    CHECK(again->notes.size() >= 7);
}

TEST_CASE("hints: a note that was pointed at begins there, though nothing was struck") {
    Played p(1.8_s);
    p.strike(0.2, 60, 1.4);
    const Audio audio = p.audio();
    REQUIRE(pencil_notes(audio, Focus{})->notes.size() == 1);
    Hints hints;
    hints.here = {{0.9_s, MidiKey(60)}};
    const auto again = pencil_notes(audio, Focus{}, hints);
    REQUIRE(again.ok());
    REQUIRE(again->notes.size() == 2);
    CHECK(std::abs((again->notes[1].onset - 0.9_s).value()) < here_tolerance.value());
}

TEST_CASE("hints: places in the beat are learned from his attacks and from the others'") {
    notes::Attacks attacks;
    std::vector<Seconds> beats;
    for (int b = 0; b <= 24; ++b) {
        beats.emplace_back(0.5 * b);
        attacks.plucks.push_back({0.5 * b + 0.01, 5.0, {}});
        attacks.plucks.push_back({0.5 * b + 0.2, -3.0, {}});  // somebody else's
        attacks.plucks.push_back({0.5 * b + 0.31, 5.0, {}});  // his, swung, ahead of two to one
    }
    const auto places = notes::BeatPlaces::learn(beats, attacks);
    REQUIRE(places.has_value());
    const auto at = [&](double t) { return places->log_odds(t); };
    CHECK(at(3.31) > 0.7);
    CHECK(at(3.31) > at(3.333));  // his own place before the usual one beside it
    // Somebody else's place, and one where nobody plays: off the beat is not wrong.
    CHECK(at(3.20) == 0.0);
    CHECK(at(3.44) == 0.0);
    for (double t = 0.0; t < 12.0; t += 0.01)
        CHECK((at(t) >= 0.0 && at(t) <= 2.0));
    CHECK(at(13.0) == 0.0);  // after the last beat
    // It does not vouch for itself: the only one of its place is judged by the usual places.
    notes::Attacks one;
    one.plucks.push_back({3.25, 0.5, {}});
    const auto none = notes::BeatPlaces::learn(beats, notes::Attacks{});
    const auto itself = notes::BeatPlaces::learn(beats, one);
    REQUIRE((none && itself));
    CHECK(none->log_odds(3.25) > 0.0);
    CHECK(itself->log_odds(one.plucks[0]) == doctest::Approx(none->log_odds(3.25)));
    CHECK_FALSE(notes::BeatPlaces::learn({0.0_s, 0.5_s}, attacks).has_value());
}

TEST_CASE("hints: a part that comes first changes nothing in the whole") {
    const Played p = eight_notes();
    const Audio audio = p.audio();
    const auto whole = pencil_notes(audio, Focus{});
    REQUIRE(whole.ok());
    std::vector<Note> first;
    int handed_over = 0;
    double last = -1.0;
    bool falls = false;
    double share_at_first = 2.0;
    Work work;
    work.progress = [&](double share) {
        falls = falls || share < last;
        last = share;
    };
    const auto in_order = pencil_in_order(
        audio, Focus{}, Hints{}, {1.3_s, 2.1_s},
        [&](const Pencilled& part) {
            ++handed_over;
            share_at_first = last;
            first = part.notes;
        },
        work);
    REQUIRE(in_order.ok());
    CHECK(handed_over == 1);
    CHECK_FALSE(falls);
    CHECK(last == doctest::Approx(1.0));
    CHECK(in_order->notes == whole->notes);
    CHECK(in_order->curve.tuning == whole->curve.tuning);
    REQUIRE(in_order->curve.points.size() == whole->curve.points.size());
    bool same = true;
    for (std::size_t i = 0; i < whole->curve.points.size(); ++i) {
        same = same && whole->curve.points[i].f0 == in_order->curve.points[i].f0 &&
               whole->curve.points[i].confidence == in_order->curve.points[i].confidence;
    }
    CHECK(same);
    // 1.4 and 1.8 s are struck within it.
    REQUIRE(first.size() == 2);
    CHECK(std::abs((first[0].onset - 1.4_s).value()) < 0.01);
    CHECK(std::abs((first[1].onset - 1.8_s).value()) < 0.01);
}

TEST_CASE("hints: the first part arrives before the rest is looked at, and work can stop there") {
    Played p(30.0_s);
    for (int i = 0; i < 70; ++i)
        p.strike(0.2 + 0.42 * i, 55 + (7 * i) % 20, 0.38);
    std::stop_source source;
    Work work;
    work.stop = source.get_token();
    double last = 0.0;
    work.progress = [&](double share) { last = share; };
    const auto stopped = pencil_in_order(
        p.audio(), Focus{}, Hints{}, {10.0_s, 12.0_s},
        [&](const Pencilled& part) {
            CHECK(part.notes.size() >= 4);
            source.request_stop();
        },
        work);
    REQUIRE_FALSE(stopped.ok());
    CHECK(stopped.failure().kind == FailureKind::stopped);
    // 8 of 30 seconds of looking are 27 % of four fifths of seven tenths.
    CHECK(last < 0.25);
}

TEST_CASE("notes: figures carry standard errors; a doubtful note offers other readings") {
    Played p(1.6_s);
    p.strike(0.2, 64, 1.0, [](double t) { return 100.0 * smoothly(t, 0.15, 0.3); });
    const auto found = p.notes();
    REQUIRE(found.size() == 1);
    REQUIRE(found[0].cents_error.has_value());
    CHECK(found[0].cents_error->value() > 0.0);
    const Bend* bend = find<Bend>(found[0]);
    REQUIRE(bend != nullptr);
    REQUIRE(bend->size_error.has_value());
    CHECK(bend->size_error->value() > 0.0);
    CHECK(bend->size_error->value() < 15.0);

    const auto two = pencil_notes(two_strings(), Focus{});
    REQUIRE(two.ok());
    for (const Note& n : two->notes) {
        double sum = *n.confidence;
        for (std::size_t k = 0; k < n.alternatives.size(); ++k) {
            const Alternative& a = n.alternatives[k];
            CHECK(a.probability > 0.0);
            CHECK_FALSE(a.reason.empty());
            if (k > 0) CHECK(a.probability <= n.alternatives[k - 1].probability);
            if (!a.key || *a.key != n.key) sum += a.probability;
        }
        CHECK(sum <= 1.0 + 1e-9);
        CHECK(n.alternatives.size() <= 3);
    }
}
