// pitch: YIN's difference function against its closed form, candidates against known periods.
#include <cmath>

#include <doctest/doctest.h>

#include "engine/pitch/difference.h"
#include "tests/pitch/signals.h"

using namespace bentline;

TEST_CASE(
    "pitch: difference of a sine is W A^2 (1 - cos 2 pi lag / T) [de Cheveigne & Kawahara 2002, "
    "eq. 6]") {
    const double period = 80.0;
    const double a = 0.5;
    const std::size_t window = 400;  // five whole periods
    const auto x = test::tone(1.0, 8000, [&](double) { return 8000.0 / period; }, {{1.0, a}});
    for (const std::size_t lag : {0U, 1U, 13U, 20U, 40U, 63U, 80U, 120U, 160U}) {
        const double want =
            static_cast<double>(window) * a * a *
            (1.0 - std::cos(2.0 * std::numbers::pi * static_cast<double>(lag) / period));
        // Float rounding of 400 squares up to 1: well under 1e-3.
        CHECK(difference(std::span(x).subspan(100), window, lag) ==
              doctest::Approx(want).epsilon(1e-4).scale(1.0));
    }
}

TEST_CASE("pitch: the first candidate of a harmonic sound is its period, between samples") {
    for (const double period : {17.3, 50.71, 133.4, 260.9}) {
        const auto x = test::tone(
            0.3, 22050, [&](double) { return 22050.0 / period; }, test::harmonic(8));
        LagSearch search;
        const auto found = period_evidence(x, x.size() / 2, search).candidates;
        REQUIRE_FALSE(found.empty());
        CHECK(std::abs(1200.0 * std::log2(found[0].period / period)) < 1.0);
        CHECK(found[0].aperiodicity < 0.01);
        double sum = 0.0;
        for (const auto& c : found)
            sum += c.probability;
        CHECK(sum <= 1.0 + 1e-9);
    }
}

TEST_CASE("pitch: silence has no period") {
    const std::vector<float> x(4000, 0.0F);
    CHECK(period_evidence(x, 2000, LagSearch{}).curve.empty());
}
