// steady_line: what is certain stays; a single pitch that lies apart is brought back; glides and
// vibratos keep their course.
#include <cmath>
#include <numbers>
#include <optional>
#include <vector>

#include <doctest/doctest.h>

#include "engine/pitch/steady_line.h"

using namespace bentline;

namespace {

// 200 moments whose cents above 440 Hz are given by a function.
template <class Cents_>
std::vector<std::optional<Hertz>> line_of(const Cents_& cents) {
    std::vector<std::optional<Hertz>> line;
    for (int i = 0; i < 200; ++i)
        line.emplace_back(Hertz(440.0 * std::exp2(cents(i) / 1200.0)));
    return line;
}

double cents_of(const std::optional<Hertz>& f) {
    return 1200.0 * std::log2(f->value() / 440.0);
}

const std::vector<bool> nothing_clear(200, false);

}  // namespace

TEST_CASE("steady_line: a straight glide stays, but for one pitch that lies apart") {
    const auto glide = [](int i) { return 0.5 * i; };
    auto line = line_of(glide);
    line[100] = line_of([](int) { return 80.0; })[0];  // 30 cents above its place
    const auto out = steady_line(line, nothing_clear);
    for (std::size_t i = 0; i < out.size(); ++i) {
        REQUIRE(out[i]);
        const double bound = i + steady_reach >= 100 && i <= 100 + steady_reach ? 3.0 : 0.2;
        CHECK(std::abs(cents_of(out[i]) - glide(static_cast<int>(i))) < bound);
    }
}

TEST_CASE("steady_line: certain pitches stay, gaps and leaps are not bridged") {
    auto line = line_of([](int i) { return i < 100 ? 0.0 : 200.0; });
    line[50].reset();
    std::vector<bool> clear(200, false);
    clear[70] = true;
    line[70] = line_of([](int) { return 25.0; })[0];
    const auto out = steady_line(line, clear);
    CHECK_FALSE(out[50]);
    CHECK(cents_of(out[70]) == doctest::Approx(25.0));
    CHECK(std::abs(cents_of(out[99])) < 0.01);
    CHECK(cents_of(out[100]) == doctest::Approx(200.0).epsilon(1e-4));
}

TEST_CASE("steady_line: a vibrato of 7 Hz keeps its depth but for the stated loss") {
    // Moments of 5 ms; 20 cents to each side.
    const double depth = 20.0;
    const auto out = steady_line(
        line_of([&](int i) { return depth * std::sin(2.0 * std::numbers::pi * 7.0 * 0.005 * i); }),
        nothing_clear);
    double most = 0.0;
    for (std::size_t i = 50; i < 150; ++i)
        most = std::max(most, std::abs(cents_of(out[i])));
    CHECK(most >= (1.0 - steady_vibrato_loss) * depth);
    CHECK(most <= 1.02 * depth);
}
