// swings: sums that fit a sinusoid of every rate to any stretch in constant time.
#include <cmath>
#include <numbers>
#include <vector>

#include <doctest/doctest.h>

#include "engine/notes/swings.h"

using namespace bentline::notes;

TEST_CASE("swings: a sinusoid of one of the rates is found there, with its middle and depth") {
    const bentline::NoteSettings settings;
    const double hop = 0.0025;
    const std::size_t n = 400;
    const std::size_t rate = 11;
    const double middle = 3.0;  // cents
    const double depth = 20.0;
    const std::vector<SwingTurn> turns = swing_turns(hop, n, settings);
    std::vector<SwingSums> sums(n + 1);
    std::vector<double> y(n);
    for (std::size_t i = 0; i < n; ++i) {
        const double angle =
            2.0 * std::numbers::pi * swing_rate(rate, settings) * hop * static_cast<double>(i);
        y[i] = middle + depth * std::sin(angle + 0.7);
        sums[i + 1] = sums[i];
        add_to_swings(sums[i + 1], turns[i], 0.5, y[i]);
    }
    const std::size_t a = 37;
    const std::size_t b = 391;
    const double w = 0.5 * static_cast<double>(b - a);
    double mean = 0.0;
    for (std::size_t i = a; i < b; ++i)
        mean += 0.5 * y[i] / w;
    double misfit = 0.0;
    for (std::size_t i = a; i < b; ++i)
        misfit += 0.5 * (y[i] - mean) * (y[i] - mean);
    Swings found;
    fit_swings(found, sums[a], sums[b], w, mean, misfit);
    // Exact but for the rounding of sums of squares near 1e5.
    CHECK(found.misfit[rate] < 1e-6);
    CHECK(std::abs(found.mean[rate] - middle) < 1e-6);
    CHECK(std::abs(found.depth_squared[rate] - depth * depth) < 1e-5);
    // Two rates farther on are out of step with it.
    CHECK(found.misfit[rate + 2] > 0.05 * misfit);
    CHECK(found.misfit[rate - 2] > 0.05 * misfit);
}
