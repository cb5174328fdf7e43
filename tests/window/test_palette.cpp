// window: text can be read and the accents stay apart, for colour-blind eyes, too.
#include <array>
#include <cmath>
#include <string>
#include <utility>
#include <vector>

#include <doctest/doctest.h>

#include "ui/window/palette.h"

using namespace bentline::window;

namespace {

using Matrix = std::array<std::array<double, 3>, 3>;

// Linear RGB of a dichromat, severity 1 [Machado, Oliveira & Fernandes 2009, table of the model;
// figures from memory, rows sum to 1].
constexpr Matrix protan{{{0.152286, 1.052583, -0.204868},
                         {0.114503, 0.786281, 0.099216},
                         {-0.003882, -0.048116, 1.051998}}};
constexpr Matrix deutan{{{0.367322, 0.860646, -0.227968},
                         {0.280085, 0.672501, 0.047413},
                         {-0.011820, 0.042940, 0.968881}}};
constexpr Matrix tritan{{{1.255528, -0.076749, -0.178779},
                         {-0.078411, 0.930809, 0.147602},
                         {0.004733, 0.691367, 0.303900}}};

double to_linear(double c) {
    return c <= 0.04045 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4);
}

std::array<double, 3> seen(Colour colour, const Matrix& m) {
    std::array<double, 3> in{}, out{};
    for (unsigned i = 0; i < 3; ++i)
        in[i] = to_linear(((colour >> (8 * i)) & 0xFF) / 255.0);
    for (std::size_t r = 0; r < 3; ++r) {
        for (std::size_t c = 0; c < 3; ++c)
            out[r] += m[r][c] * in[c];
        out[r] = std::min(1.0, std::max(0.0, out[r]));
    }
    return out;
}

// CIE 1976 L*a*b* difference, D65 [CIE 15].
std::array<double, 3> lab(const std::array<double, 3>& rgb_linear) {
    const auto [r, g, b] = rgb_linear;
    const double x = (0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.95047;
    const double y = 0.2126 * r + 0.7152 * g + 0.0722 * b;
    const double z = (0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.08883;
    const auto f = [](double t) { return t > 0.008856 ? std::cbrt(t) : 7.787 * t + 16.0 / 116.0; };
    return {116.0 * f(y) - 16.0, 500.0 * (f(x) - f(y)), 200.0 * (f(y) - f(z))};
}

double apart(Colour a, Colour b, const Matrix& m) {
    const auto la = lab(seen(a, m)), lb = lab(seen(b, m));
    return std::hypot(la[0] - lb[0], la[1] - lb[1], la[2] - lb[2]);
}

}  // namespace

TEST_CASE("palette: contrast of black on white is 21, of a colour on itself 1 [WCAG 2.1]") {
    CHECK(contrast(rgb(0x000000), rgb(0xFFFFFF)) == doctest::Approx(21.0));
    CHECK(contrast(rgb(0x336699), rgb(0x336699)) == doctest::Approx(1.0));
    // The grey that just reaches 4.5 on white is #767676 [WCAG techniques, from memory].
    CHECK(contrast(rgb(0x767676), rgb(0xFFFFFF)) == doctest::Approx(4.54).epsilon(0.002));
}

TEST_CASE("palette: every text colour has contrast 4.5 on every ground [WCAG 2.1, 1.4.3]") {
    for (const Paper paper : {Paper::light, Paper::dark}) {
        const Palette& p = palette(paper);
        for (const Colour text : {p.ink, p.soft, p.pencil, p.here, p.span}) {
            for (const Colour ground : {p.desk, p.paper, p.shade}) {
                CHECK(contrast(text, ground) >= 4.5);
            }
        }
    }
}

TEST_CASE("palette: the accents stay apart for the three common colour deficiencies") {
    for (const Paper paper : {Paper::light, Paper::dark}) {
        const Palette& p = palette(paper);
        for (const Matrix& m : {protan, deutan, tritan}) {
            // 20: about ten times the just noticeable difference of 2.3 [Mahy et al. 1994, from
            // memory].
            CHECK(apart(p.here, p.span, m) >= 20.0);
            CHECK(apart(p.here, p.ink, m) >= 20.0);
            CHECK(apart(p.span, p.ink, m) >= 20.0);
        }
    }
}
