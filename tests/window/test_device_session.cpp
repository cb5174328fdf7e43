// desk: a scripted session proved on what the sound device received: count-in, rising speed, a loop
// nudged by beats and bars, hearing the focus alone.
#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <numbers>
#include <optional>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "file_device.h"

using namespace bentline;
using namespace bentline::window;

namespace {

constexpr double rate = 44100.0;
constexpr double audible = 0.002;  // of full scale

// What is heard of the tones (C4, E4, G4 at 0.5, 1.5 and 2.5 s) when these session lines are
// carried out, the last of them after a second of it: so many seconds from the first sound on. The
// device takes sound as fast as it comes, so its clock is its own. Empty where this machine lists
// no ALSA device. States are checked by `check` at the end. On a machine that is too busy for the
// device some of it is dropped on the way: then once more, up to four times, until `whole` finds it
// complete.
std::vector<double> once(const char* name, const std::string& before, const std::string& playing,
                         double seconds, const std::function<void(const State&)>& check) {
    Folder folder(name);
    REQUIRE(write_tones(folder / "tones.wav"));
    const fs::path raw = folder / "heard.raw";
    make_device(folder, "bentline_session", raw);
    const auto come_out = [&] {
        std::error_code error;
        const auto bytes = fs::file_size(raw, error);
        return error ? 0.0 : static_cast<double>(bytes) / (rate * 4);
    };
    std::vector<double> sound;
    {
        Desk desk({.sound = true, .remember = {}, .journal = false});
        if (!ready(desk, folder, "bentline_session")) return {};
        std::istringstream first("level -6\n" + before + "play-stop\n"), then(playing);
        REQUIRE(play_session(desk, first).ok());
        REQUIRE(desk.state().play.playing);
        // The device runs since just before the order to play: it begins within what is out now
        // and what the queue holds.
        const double begun = come_out() + 0.5;
        CHECK(tick_until(desk, [&] { return come_out() > begun + 1.0; }));
        REQUIRE(play_session(desk, then).ok());
        const double from = playing.empty() ? begun : come_out() + 0.5;
        CHECK(tick_until(desk, [&] { return come_out() > from + seconds; }));
        check(desk.state());
    }
    unsetenv("ALSA_CONFIG_PATH");
    sound = left_of(raw);
    const auto first =
        std::find_if(sound.begin(), sound.end(), [](double x) { return std::abs(x) > audible; });
    // A little of the silence before it stays, so that it is a beginning like the others.
    const auto air = std::min<std::ptrdiff_t>(first - sound.begin(), 2000);
    return {first - air, sound.end()};
}

// Strength of a frequency over 20 ms from a frame on (Goertzel 1958, by its definition).
double strength(const std::vector<double>& x, std::size_t from, double hz, double seconds = 0.02) {
    double re = 0.0, im = 0.0;
    const auto count = static_cast<std::size_t>(seconds * rate);
    for (std::size_t i = 0; i < count && from + i < x.size(); ++i) {
        const double phase = 2.0 * std::numbers::pi * hz * static_cast<double>(i) / rate;
        re += x[from + i] * std::cos(phase);
        im += x[from + i] * std::sin(phase);
    }
    return std::hypot(re, im) / static_cast<double>(count);
}

// Where the sound begins after 30 ms (1,300 frames) of near silence, seconds.
std::vector<double> beginnings(const std::vector<double>& x) {
    std::vector<double> found;
    std::size_t quiet = 0;
    for (std::size_t i = 0; i < x.size(); ++i) {
        if (std::abs(x[i]) < audible) {
            ++quiet;
            continue;
        }
        if (quiet > 1300) found.push_back(static_cast<double>(i) / rate);
        quiet = 0;
    }
    return found;
}

std::vector<double> session(const char* name, const std::string& before, const std::string& playing,
                            double seconds, const std::function<void(const State&)>& check,
                            const std::function<bool(const std::vector<double>&)>& whole) {
    std::vector<double> sound;
    for (int i = 0; i < 4; ++i) {
        sound = once(name, before, playing, seconds, check);
        if (sound.empty() || whole(sound)) break;
    }
    return sound;
}

// Are these the times from one beginning to the next, to so many seconds?
bool apart(const std::vector<double>& at, const std::vector<double>& wanted, double within) {
    if (at.size() <= wanted.size()) return false;
    for (std::size_t i = 0; i < wanted.size(); ++i) {
        if (std::abs(at[i + 1] - at[i] - wanted[i]) >= within) return false;
    }
    return true;
}

}  // namespace

TEST_CASE("session: clicks count in at the speed that is played, then the sound begins") {
    // No bars yet: a beat is half a second, a whole one at half speed. From click to click a beat;
    // a beat after the last the recording runs, whose first tone lies 0.5 s into it: a second at
    // half speed. Slowed, an attack keeps its time to 12 ms.
    const std::vector<double> wanted{1.0, 2.0};
    const auto sound = session(
        "session_count_in", "count-in 2\nspeed 0.5\ngo 0\n", "", 4.5,
        [](const State& s) { CHECK(s.play.count_in == 2); },
        [&](const auto& heard) { return apart(beginnings(heard), wanted, 0.015); });
    if (sound.empty()) return;
    const std::vector<double> at = beginnings(sound);
    CAPTURE(at.size());
    REQUIRE(apart(at, wanted, 0.015));
    CHECK(std::abs(at[1] - at[0] - 1.0) < 0.003);  // clicks lie to the frame
    const auto frame = [](double s) { return static_cast<std::size_t>(s * rate); };
    // The clicks are G6, the tone is C4 (equal temperament, A4 = 440 Hz [ISO 16]).
    CHECK(strength(sound, frame(at[0]), 1568.0) > 10 * strength(sound, frame(at[0]), 261.63));
    CHECK(strength(sound, frame(at[2] + 0.05), 261.63) >
          10 * strength(sound, frame(at[2] + 0.05), 1479.98));
}

TEST_CASE("session: the speed rises as the loop goes round, by its steps, up to its end") {
    // Once round at 50, 75 and 100 %, then on at 100 %. From one struck note to the next the speed
    // changes at the loop's end, 0.1 s before the note.
    const std::vector<double> wanted{0.9 / 0.5 + 0.1 / 0.75, 0.9 / 0.75 + 0.1, 1.0, 1.0};
    const auto sound = session(
        "session_trainer", "loop 0.4 1.4\ngo 0.4\ntrainer 0.5 0.25 1 1\n", "", 7.5,
        [](const State& s) {
            CHECK(s.play.speed == doctest::Approx(1.0));
            CHECK(s.play.round >= 4);
        },
        [&](const auto& heard) { return apart(beginnings(heard), wanted, 0.02); });
    if (sound.empty()) return;
    CHECK(apart(beginnings(sound), wanted, 0.02));
}

TEST_CASE("session: a loop nudged while it plays is heard where it went") {
    // Beats of half a second, two a bar; the loop is bar 1, then bar 2, then a beat longer.
    const auto sound = session(
        "session_nudge", "tempo 120\nbar-one 0.4\nmetre \"2/4\"\nloop-bars 1 1\ngo 0.4\n",
        "move-loop both 2\nmove-loop end 2\n", 6.0,
        [](const State& s) {
            REQUIRE(s.play.loop);
            CHECK(s.play.loop->from.value() == doctest::Approx(1.4));
            CHECK(s.play.loop->to.value() == doctest::Approx(3.4));
        },
        [](const auto& heard) { return heard.size() > 4 * 44100; });
    if (sound.empty()) return;
    double c = 0.0, e = 0.0, g = 0.0;  // C4, E4, G4 in the last three seconds
    REQUIRE(sound.size() > 4 * 44100);
    for (std::size_t i = sound.size() - 3 * 44100; i + 4410 < sound.size(); i += 4410) {
        c += strength(sound, i, 261.63, 0.1);
        e += strength(sound, i, 329.63, 0.1);
        g += strength(sound, i, 392.00, 0.1);
    }
    CHECK(e > 5 * c);
    CHECK(g > 5 * c);
    // At first it was C4 alone.
    const auto early = static_cast<std::size_t>(0.2 * rate);
    CHECK(strength(sound, early, 261.63, 0.1) > 5 * strength(sound, early, 329.63, 0.1));
}

TEST_CASE(
    "session: the look follows the play line, and stays put where the player looks elsewhere") {
    const auto any = [](const auto&) { return true; };
    // Bars 1 and 2 of the recording loop while he looks at what comes after them.
    (void)session(
        "session_elsewhere", "loop 0.4 1.4\ngo 0.4\nlook-at 0.2 1.6\n", "look-at 2.2 3.4\n", 3.0,
        [](const State& s) {
            CHECK(s.play.playing);
            CHECK(s.look.from.value() == doctest::Approx(2.2));
            CHECK(s.look.to.value() == doctest::Approx(3.4));
        },
        any);
    // Without a loop the line runs out of the look, which turns the page with it.
    (void)session(
        "session_follows", "go 0.1\nspeed 0.5\nlook-at 0 1\n", "", 4.0,
        [](const State& s) {
            CHECK(s.play.at > Seconds(1.0));
            CHECK(s.look.contains(s.play.at));
            CHECK((s.look.to - s.look.from).value() == doctest::Approx(1.0));
        },
        any);
}
