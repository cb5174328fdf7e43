// sound: what a draft sounds like: gestures, time, tuning, safety; and our own ear takes it back.
#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <memory>
#include <numbers>
#include <vector>

#include <doctest/doctest.h>

#include "engine/notes/pencil.h"
#include "engine/sound/draft_voice.h"
#include "engine/sound/render_draft.h"
#include "tests/draft/drafts.h"
#include "tests/support/dice.h"

using namespace bentline;
using namespace bentline::testing;

namespace {

constexpr SampleRate cd{44100};
constexpr auto everything = WhichNotes::inked_and_pencilled;

PlayedPart part_of(const std::vector<Note>& notes, VoiceSettings settings = {},
                   Cents tuning = Cents(0)) {
    Draft d;
    d.tuning = tuning;
    settings.which = everything;
    return prepare(pencil(std::move(d), notes).value(), settings);
}

std::vector<float> played(const PlayedPart& part, Seconds length, double speed = 1.0,
                          SampleRate rate = cd) {
    return render_part(part, {Seconds(0), length}, speed, rate).value().channels.front();
}

Note with(Note n, InflectionKind what) {
    n.inflections.push_back({std::move(what), {}, ""});
    return n;
}

// Frequency around frame `at`: phase of the fundamental between two short windows, 2048 frames
// together.
double hz_near(const std::vector<float>& x, double about, std::size_t at) {
    constexpr std::size_t length = 1536;
    constexpr std::size_t hop = 512;
    const std::size_t from = at - (length + hop) / 2;
    double hz = about;
    for (int round = 0; round < 4; ++round) {
        std::array<std::complex<double>, 2> sums;
        for (std::size_t k = 0; k < 2; ++k) {
            for (std::size_t i = 0; i < length; ++i) {
                const double u = (static_cast<double>(i) + 0.5) / length;
                // Blackman: partials beside the fundamental stay out.
                const double w = 0.42 - 0.5 * std::cos(2.0 * std::numbers::pi * u) +
                                 0.08 * std::cos(4.0 * std::numbers::pi * u);
                const double frame = static_cast<double>(from + k * hop + i);
                sums[k] += w * static_cast<double>(x[from + k * hop + i]) *
                           std::polar(1.0, -2.0 * std::numbers::pi * hz * frame / cd.value());
            }
        }
        hz += std::arg(sums[1] * std::conj(sums[0])) * cd.value() /
              (2.0 * std::numbers::pi * static_cast<double>(hop));
    }
    return hz;
}

double rms(const std::vector<float>& x, double from, double to) {
    double sum = 0.0;
    const auto a = static_cast<std::size_t>(from * 44100);
    const auto b = static_cast<std::size_t>(to * 44100);
    for (std::size_t i = a; i < b; ++i)
        sum += static_cast<double>(x[i]) * x[i];
    return std::sqrt(sum / static_cast<double>(b - a));
}

double db(double ratio) {
    return 20.0 * std::log10(ratio);
}

double cents_above_key(double hz, int key) {
    return 1200.0 * std::log2(hz / 440.0) - 100.0 * (key - 69);
}

}  // namespace

TEST_CASE("sound: a bend is where its measured line is, all the way up and down") {
    // Up 200 cents from 0.3 to 0.5 s, down again from 0.8 to 1.0 s, as raised cosines.
    const Bend bend{Cents(200), Seconds(0.3), Seconds(0.5),
                    true,       false,        SecondsRange{Seconds(0.8), Seconds(1.0)}};
    const auto x = played(part_of({with(note(0.1, 1.4, 67), bend)}), Seconds(1.6));
    for (double t = 0.2; t < 1.25; t += 0.05) {
        const auto eased = [](double share) {
            return 0.5 - 0.5 * std::cos(std::numbers::pi * std::clamp(share, 0.0, 1.0));
        };
        const double wanted = 200.0 * eased((t - 0.3) / 0.2) * (1.0 - eased((t - 0.8) / 0.2));
        const double hz =
            hz_near(x, 392.0 * std::exp2(wanted / 1200.0), static_cast<std::size_t>(t * 44100));
        CAPTURE(t);
        // The measuring window of 46 ms rounds the corners of the line by up to 4 cents (a quarter
        // of the curvature 200/2 * (pi / 0.2 s)^2 times the window's variance, 7 ms squared); in
        // between 2.
        CHECK(std::abs(cents_above_key(hz, 67) - wanted) < 5.0);
    }
}

TEST_CASE("sound: vibrato has the depth and rate it was given") {
    const Vibrato shake{Hertz(5.0), Cents(40), SecondsRange{Seconds(0.3), Seconds(1.9)}};
    const auto x = played(part_of({with(note(0.1, 2.0, 72), shake)}), Seconds(2.2));
    // Crests at 0.3 + 0.05 + k / 5 s, troughs 0.1 s later; the first and last are let in and out.
    for (int k = 1; k < 6; ++k) {
        const double crest = 0.35 + 0.2 * k;
        const double up =
            cents_above_key(hz_near(x, 523.25, static_cast<std::size_t>(crest * 44100)), 72);
        const double down = cents_above_key(
            hz_near(x, 523.25, static_cast<std::size_t>((crest + 0.1) * 44100)), 72);
        // The window's 7 ms spread takes (2 pi 5 * 0.007)^2 / 2 = 2.4 % of the depth.
        CHECK(std::abs(up - 39.0) < 3.0);
        CHECK(std::abs(down + 39.0) < 3.0);
    }
}

TEST_CASE("sound: a slide to the next note is not struck again; plain, it is") {
    const auto line =
        std::vector{with(note(0.1, 0.6, 64), SlideToNext{SecondsRange{Seconds(0.5), Seconds(0.6)}}),
                    note(0.6, 1.2, 67)};
    const PlayedPart slid = part_of(line);
    CHECK(slid.notes[0].struck);
    CHECK_FALSE(slid.notes[1].struck);
    VoiceSettings plain;
    plain.plain = true;
    const PlayedPart bare = part_of(line, plain);
    CHECK(bare.notes[1].struck);
    const auto x = played(slid, Seconds(1.5));
    const auto y = played(bare, Seconds(1.5));
    // 20 ms before and after the arrival. A stroke brings the level back up by what the string has
    // lost in half a second: more than 3 dB.
    CHECK(db(rms(x, 0.605, 0.625) / rms(x, 0.57, 0.59)) < 1.0);
    CHECK(db(rms(y, 0.605, 0.625) / rms(y, 0.57, 0.59)) > 2.5);
    const double hz = hz_near(x, 392.0, static_cast<std::size_t>(0.8 * 44100));
    CHECK(std::abs(cents_above_key(hz, 67)) < 1.0);
}

TEST_CASE("sound: slides and glides make no click") {
    // The sharpest bend of the waveform (second difference) in a slide against that of the stroke's
    // own first periods at the same pitch.
    for (const SlideManner manner : {SlideManner::stepped, SlideManner::gliding}) {
        VoiceSettings settings;
        settings.slides = manner;
        const auto x =
            played(part_of({with(note(0.1, 0.9, 60),
                                 SlideIn{MidiKey(53), SecondsRange{Seconds(0.1), Seconds(0.5)}})},
                           settings),
                   Seconds(1.0));
        const auto sharpest = [&](double from, double to) {
            double most = 0.0;
            for (auto i = static_cast<std::size_t>(from * 44100);
                 i < static_cast<std::size_t>(to * 44100); ++i) {
                most =
                    std::max(most, std::abs(static_cast<double>(x[i + 1]) - 2.0 * x[i] + x[i - 1]));
            }
            return most;
        };
        CHECK(sharpest(0.16, 0.6) < sharpest(0.1, 0.15));
        CHECK(sharpest(0.6, 0.85) < sharpest(0.1, 0.15));
    }
}

TEST_CASE("sound: a note ends where it is damped, and a stroke damps the note before") {
    const auto x =
        played(part_of({note(0.1, 0.6, 60), with(note(1.0, 1.2, 60), Staccato{})}), Seconds(1.5));
    CHECK(rms(x, 0.0, 0.099) == 0.0);
    // 60 dB in 60 ms when a finger leaves, in 25 ms when it is clipped (draft_voice.cpp).
    CHECK(db(rms(x, 0.67, 0.69) / rms(x, 0.5, 0.59)) < -55.0);
    CHECK(db(rms(x, 1.235, 1.25) / rms(x, 1.1, 1.19)) < -55.0);
    CHECK(rms(x, 1.4, 1.5) == 0.0);  // at rest, not merely quiet
}

TEST_CASE("sound: the same at any block size; slower only later") {
    const PlayedPart part =
        part_of({with(note(0.1, 0.4, 60), Bend{Cents(100), {}, {}, false, false, {}}),
                 note(0.4, 0.7, 63), note(0.75, 1.0, 66)});
    const auto whole = played(part, Seconds(1.2));
    DraftVoice voice(std::make_shared<const PlayedPart>(part), cd);
    std::vector<float> pieces(whole.size());
    const Seconds a_frame(1.0 / 44100);
    std::size_t at = 0;
    for (std::size_t size = 1; at < pieces.size(); size = size * 7 % 501 + 1) {
        const std::size_t n = std::min(size, pieces.size() - at);
        voice.render({a_frame * static_cast<double>(at), a_frame}, Cents(0),
                     std::span(pieces.data() + at, n));
        at += n;
    }
    CHECK(pieces == whole);
    // The first frame that sounds lies where the onset does, at every speed.
    for (const double speed : {0.5, 1.0, 2.0}) {
        const auto x = played(part, Seconds(1.2), speed);
        const auto first = static_cast<double>(
            std::find_if(x.begin(), x.end(), [](float v) { return v != 0.0F; }) - x.begin());
        CHECK(std::abs(first - 4410.0 / speed) <= 1.0);
        CHECK(x.size() == static_cast<std::size_t>(std::llround(1.2 * 44100 / speed)));
        const double hz = hz_near(x, 440.0 * std::exp2(-3.0 / 12.0),
                                  static_cast<std::size_t>(0.9 / speed * 44100));
        CHECK(std::abs(cents_above_key(hz, 66)) < 1.0);
    }
}

TEST_CASE("sound: it is tuned like its recording") {
    const auto x = played(part_of({note(0.1, 1.0, 69)}, {}, Cents(-27)), Seconds(1.1));
    // A4 27 cents flat: 440 * 2^(-27/1200) = 433.191 Hz.
    CHECK(std::abs(hz_near(x, 433.0, 22050) - 433.191) < 0.1);
}

TEST_CASE("sound: levels follow the measured ones") {
    auto a = note(0.1, 0.5, 64);
    auto b = note(0.6, 1.0, 64);
    auto c = note(1.1, 1.5, 64);
    a.level = Decibels(-20);
    b.level = Decibels(-26);
    c.level = Decibels(-18);
    const auto x = played(part_of({a, b, c}), Seconds(1.6));
    // Levels also make the stroke softer or harder: a decibel of room.
    CHECK(std::abs(db(rms(x, 0.6, 0.62) / rms(x, 0.1, 0.12)) + 6.0) < 1.0);
    CHECK(std::abs(db(rms(x, 1.1, 1.12) / rms(x, 0.1, 0.12)) - 2.0) < 1.0);
}

TEST_CASE("sound: whatever comes, the output is finite, within full scale and free of denormals") {
    Dice dice(7);
    for (const int rate : {8000, 44100, 192000}) {
        std::vector<Note> notes;
        double t = 0.05;
        for (int i = 0; i < 40; ++i) {
            Note n = note(t, t + 0.03 + dice.between(0.0, 0.1), dice.whole(0, 127));
            n.level = Decibels(dice.between(-90.0, 20.0));
            n = with(n, Bend{Cents(dice.between(-500, 700)), {}, {}, dice.chance(0.5), false, {}});
            if (dice.chance(0.4)) n = with(n, Trill{dice.whole(-5, 12)});
            if (dice.chance(0.4)) n = with(n, Vibrato{Hertz(12), Cents(300), {}});
            if (dice.chance(0.3)) n = with(n, SlideToNext{});
            if (dice.chance(0.2)) n = with(n, SlideOut{});
            t = n.offset.value() + (dice.chance(0.5) ? 0.0 : 0.02);
            notes.push_back(std::move(n));
        }
        VoiceSettings loud;
        loud.middle = Decibels(-3.0);
        bool fine = true;
        for (const float v :
             played(part_of(notes, loud), Seconds(t + 3.0), 1.0, SampleRate(rate))) {
            fine = fine && std::isfinite(v) && std::abs(v) <= 1.0F &&
                   std::fpclassify(v) != FP_SUBNORMAL;
        }
        CAPTURE(rate);
        CHECK(fine);
    }
}

TEST_CASE("sound: a jump into a note sounds it, one to its end does not; a new voice carries on") {
    const auto part = std::make_shared<const PlayedPart>(part_of({note(0.0, 1.0, 60)}));
    const Seconds a_frame(1.0 / 44100);
    std::vector<float> out(4410);
    DraftVoice voice(part, cd);
    voice.render({Seconds(0.5), a_frame}, Cents(0), out);
    CHECK(rms(out, 0.02, 0.1) > 0.02);
    voice.render({Seconds(0.97), a_frame}, Cents(0), out);
    CHECK(rms(out, 0.05, 0.1) < 1e-4);
    DraftVoice first(part, cd);
    DraftVoice never(part, cd);
    std::vector<float> alone(4410);
    first.render({Seconds(0.0), a_frame}, Cents(0), out);
    never.render({Seconds(0.0), a_frame}, Cents(0), alone);
    DraftVoice second(part, cd);
    second.take_over(first);
    second.render({Seconds(0.1), a_frame}, Cents(0), out);
    never.render({Seconds(0.1), a_frame}, Cents(0), alone);
    CHECK(out == alone);
}

TEST_CASE("sound: played and heard again, the draft comes back") {
    // A line of 48 notes, every third with a gesture, at about six a second.
    Dice dice(11);
    std::vector<Note> notes;
    double t = 0.5;
    int key = 62;
    for (int i = 0; i < 48; ++i) {
        int step = 0;
        while (step == 0)
            step = dice.whole(-4, 4);
        key = std::clamp(key + step, 50, 80);
        const double length = i % 9 == 5 ? 0.9 : i % 3 == 2 ? 0.55 : 0.18;
        Note n = note(t, t + length - 0.02, key);
        if (i % 9 == 2) {
            n = with(n, Bend{Cents(200), Seconds(t + 0.1), Seconds(t + 0.22), false, false, {}});
        } else if (i % 9 == 5) {
            n = with(n, Vibrato{Hertz(5.5), Cents(35),
                                SecondsRange{Seconds(t + 0.12), Seconds(t + length - 0.02)}});
        }
        notes.push_back(std::move(n));
        t += length;
    }
    const auto audio = render_part(part_of(notes), {Seconds(0), Seconds(t + 0.5)}, 1.0, cd).value();
    const auto heard = pencil_notes(audio, Focus{});
    REQUIRE(heard.ok());
    std::size_t matched = 0;
    std::vector<bool> taken(heard->notes.size(), false);
    std::vector<double> bends;
    std::vector<double> depths;
    for (const Note& n : notes) {
        for (std::size_t i = 0; i < heard->notes.size(); ++i) {
            const Note& h = heard->notes[i];
            if (taken[i] || h.key != n.key || std::abs((h.onset - n.onset).value()) > 0.05)
                continue;
            taken[i] = true;
            ++matched;
            if (find<Bend>(n) && find<Bend>(h)) bends.push_back(find<Bend>(h)->size.value());
            if (find<Vibrato>(n) && find<Vibrato>(h))
                depths.push_back(find<Vibrato>(h)->depth.value());
            break;
        }
    }
    const double f1 = 2.0 * static_cast<double>(matched) /
                      static_cast<double>(notes.size() + heard->notes.size());
    MESSAGE("F1 ", f1, ", bends found ", bends.size(), " of 6, vibratos ", depths.size(), " of 5");
    CHECK(f1 >= 0.97);
    REQUIRE(bends.size() >= 5);
    for (const double b : bends)
        CHECK(std::abs(b - 200.0) < 8.0);
    REQUIRE(depths.size() >= 4);
    for (const double d : depths)
        CHECK(std::abs(d - 35.0) < 5.0);
}
