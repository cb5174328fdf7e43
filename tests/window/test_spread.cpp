// spread: things in a row make room for each other by the least way there is.
#include <doctest/doctest.h>

#include "ui/window/spread.h"

using namespace bentline::window;

TEST_CASE("spread: what has room stays where it is, to the last bit") {
    const std::vector<double> wanted{0.1, 1.3, 2.7, 4.0};
    CHECK(spread({wanted, {1.0, 1.0, 1.0}, 0, 5, 9}) == wanted);
    CHECK(spread({{}, {}, 0, 1, 1}).empty());
}

TEST_CASE("spread: neighbours share the way [least squares, by hand]") {
    // Two at 0 and 1 that need 2: half a step each.
    const auto two = spread({{0, 1}, {2}, -9, 9, 9});
    CHECK(two[0] == doctest::Approx(-0.5));
    CHECK(two[1] == doctest::Approx(1.5));
    // Three at one place, one apart: the middle one stays.
    const auto three = spread({{5, 5, 5}, {1, 1}, -9, 99, 9});
    CHECK(three[0] == doctest::Approx(4));
    CHECK(three[1] == doctest::Approx(5));
    CHECK(three[2] == doctest::Approx(6));
    // A crowd of two pushes a third that was free: z = 0, -1, -0.5 have the mean -0.5.
    const auto pushed = spread({{0, 1, 3.5}, {2, 2}, -9, 9, 9});
    CHECK(pushed[0] == doctest::Approx(-0.5));
    CHECK(pushed[1] == doctest::Approx(1.5));
    CHECK(pushed[2] == doctest::Approx(3.5));
}

TEST_CASE("spread: none stands beyond the ends or farther away than it may") {
    const auto ended = spread({{0, 0.5, 1}, {1, 1}, 0, 9, 9});
    CHECK(ended[0] == doctest::Approx(0));
    CHECK(ended[1] == doctest::Approx(1));
    CHECK(ended[2] == doctest::Approx(2));
    const auto before_the_end = spread({{1, 1.5, 2}, {1, 1}, -9, 2, 9});
    CHECK(before_the_end[0] == doctest::Approx(0));
    CHECK(before_the_end[2] == doctest::Approx(2));
    // Too little room between the ends: the first end holds, and so does the way between them.
    const auto crowded = spread({{1, 1.5, 2}, {1, 1}, 1, 2, 9});
    CHECK(crowded[0] == doctest::Approx(1));
    CHECK(crowded[1] == doctest::Approx(2));
    CHECK(crowded[2] == doctest::Approx(3));
    const auto held = spread({{0, 0.1}, {4}, -9, 9, 0.5});
    CHECK(held[0] == doctest::Approx(-0.5));
    CHECK(held[1] == doctest::Approx(0.6));
}
