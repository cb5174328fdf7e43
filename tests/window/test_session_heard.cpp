// desk: scripted sessions proved on what is heard of them: count-in, rising speed, a loop nudged by
// beats and bars, recording and draft apart.
#include <cmath>
#include <numbers>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "by_hand.h"

using namespace bentline;
using namespace bentline::window;

namespace {

constexpr double audible = 0.002;  // of full scale

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
    std::size_t quiet = x.size();  // it was silent before
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

// Are these the times from one beginning to the next, to so many seconds?
bool apart(const std::vector<double>& at, const std::vector<double>& wanted, double within) {
    if (at.size() <= wanted.size()) return false;
    for (std::size_t i = 0; i < wanted.size(); ++i) {
        if (std::abs(at[i + 1] - at[i] - wanted[i]) >= within) return false;
    }
    return true;
}

std::size_t frame(double s) {
    return static_cast<std::size_t>(s * rate);
}

// Root of the mean square over the last four seconds.
double loudness(const std::vector<double>& x) {
    double sum = 0.0;
    for (std::size_t i = x.size() - frame(4.0); i < x.size(); ++i)
        sum += x[i] * x[i];
    return std::sqrt(sum / (4.0 * rate));
}

}  // namespace

TEST_CASE("session: clicks count in at the speed that is played, then the sound begins") {
    // No bars yet: a beat is half a second, a whole one at half speed. From click to click a beat;
    // a beat after the last the recording runs, whose first tone lies 0.5 s into it: a second at
    // half speed. Slowed, an attack keeps its time to 12 ms.
    ByHand heard("session_count_in");
    heard.order("level -6\ncount-in 2\nspeed 0.5\ngo 0\nplay-stop\n");
    CHECK(heard.s().play.count_in == 2);
    heard.listen(4.5);
    const std::vector<double>& sound = heard.left;
    const std::vector<double> at = beginnings(sound);
    CAPTURE(at.size());
    REQUIRE(apart(at, {1.0, 2.0}, 0.012));
    CHECK(std::abs(at[1] - at[0] - 1.0) < 1.5 / rate);  // clicks lie to the frame
    // The clicks are G6, the tone is C4 (equal temperament, A4 = 440 Hz [ISO 16]).
    CHECK(strength(sound, frame(at[0]), 1568.0) > 10 * strength(sound, frame(at[0]), 261.63));
    CHECK(strength(sound, frame(at[2] + 0.05), 261.63) >
          10 * strength(sound, frame(at[2] + 0.05), 1479.98));
}

TEST_CASE("session: the speed rises as the loop goes round, by its steps, up to its end") {
    // Once round at 50, 75 and 100 %, then on at 100 %. From one struck note to the next the speed
    // changes at the loop's end, 0.1 s before the note.
    ByHand heard("session_trainer");
    heard.order("level -6\nloop 0.4 1.4\ngo 0.4\ntrainer 0.5 0.25 1 1\nplay-stop\n");
    heard.listen(7.5);
    CHECK(heard.s().play.speed == doctest::Approx(1.0));
    CHECK(heard.s().play.round >= 4);
    CHECK(
        apart(beginnings(heard.left), {0.9 / 0.5 + 0.1 / 0.75, 0.9 / 0.75 + 0.1, 1.0, 1.0}, 0.012));
}

TEST_CASE("session: a loop nudged while it plays is heard where it went") {
    // Beats of half a second, two a bar; the loop is bar 1, then bar 2, then a beat longer.
    ByHand heard("session_nudge");
    heard.order(
        "level -6\ntempo 120\nbar-one 0.4\nmetre \"2/4\"\nloop-bars 1 1\ngo 0.4\nplay-stop\n");
    heard.listen(1.0);
    // At first it was C4 alone.
    CHECK(strength(heard.left, frame(0.3), 261.63, 0.1) >
          5 * strength(heard.left, frame(0.3), 329.63, 0.1));
    heard.order("move-loop both 2\nmove-loop end 2\n");
    heard.listen(6.0);
    REQUIRE(heard.s().play.loop);
    CHECK(heard.s().play.loop->from.value() == doctest::Approx(1.4));
    CHECK(heard.s().play.loop->to.value() == doctest::Approx(3.4));
    double c = 0.0, e = 0.0, g = 0.0;  // C4, E4, G4 in the last three seconds
    for (std::size_t i = heard.left.size() - frame(3.0); i < heard.left.size(); i += frame(0.1)) {
        c += strength(heard.left, i, 261.63, 0.1);
        e += strength(heard.left, i, 329.63, 0.1);
        g += strength(heard.left, i, 392.00, 0.1);
    }
    CHECK(e > 5 * c);
    CHECK(g > 5 * c);
}

TEST_CASE(
    "session: the look follows the play line, and stays put where the player looks elsewhere") {
    SUBCASE("bars 1 and 2 of the recording loop while he looks at what comes after them") {
        ByHand heard("session_elsewhere");
        heard.order("loop 0.4 1.4\ngo 0.4\nlook-at 0.2 1.6\nplay-stop\n");
        heard.listen(1.0);
        heard.order("look-at 2.2 3.4\n");
        heard.listen(3.0);
        CHECK(heard.s().play.playing);
        CHECK(heard.s().play.round >= 3);
        CHECK(heard.s().look.from.value() == doctest::Approx(2.2));
        CHECK(heard.s().look.to.value() == doctest::Approx(3.4));
    }
    SUBCASE("without a loop the line runs out of the look, which turns the page with it") {
        ByHand heard("session_follows");
        heard.order("go 0.1\nspeed 0.5\nlook-at 0 1\nplay-stop\n");
        heard.listen(4.0);
        CHECK(heard.s().play.at > Seconds(1.9));
        CHECK(heard.s().play.at < Seconds(2.2));
        CHECK(heard.s().look.contains(heard.s().play.at));
        CHECK((heard.s().look.to - heard.s().look.from).value() == doctest::Approx(1.0));
    }
}

TEST_CASE("session: the recording left, the draft right, and each alone at the balance's ends") {
    ByHand heard("session_sides");
    heard.order("level -6\nloop 0.2 3.8\nbalance 0\napart yes\nplay-stop\n");
    heard.listen(5.0);
    CHECK(loudness(heard.left) > 0.003);
    CHECK(loudness(heard.right) < 0.0005);
    heard.order("balance 1\n");
    heard.listen(5.0);
    CHECK(loudness(heard.left) < 0.0005);
    CHECK(loudness(heard.right) > 0.001);
    heard.order("balance 0.5\n");
    heard.listen(5.0);
    CHECK(loudness(heard.left) > 0.001);
    CHECK(loudness(heard.right) > 0.001);
    heard.order("apart no\n");
    heard.listen(5.0);
    CHECK(loudness(heard.left) > 0.001);
    // The tones and the plucked string lie in the middle: both sides alike within 1 dB.
    CHECK(std::abs(20 * std::log10(loudness(heard.left) / loudness(heard.right))) < 1.0);
}

TEST_CASE("session: the same orders give the same samples, and nothing before any of them") {
    const auto once = [] {
        ByHand heard("session_again");
        heard.listen(0.1);
        CHECK(std::ranges::all_of(heard.left, [](double x) { return x == 0.0; }));
        heard.order("level -6\nloop 0.4 1.4\nspeed 0.7\ngo 0.4\nplay-stop\n");
        heard.listen(2.0);
        heard.order("play-stop\n");
        heard.listen(0.5);
        CHECK_FALSE(heard.s().play.playing);
        CHECK(std::abs(heard.left.back()) < 1e-6);
        return heard.left;
    };
    CHECK(once() == once());
}
